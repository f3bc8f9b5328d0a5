// Package facts turns records and their judgement into text: facts in a line,
// the calculation as rows. It is pure.
//
// Start with [Fact] for one entry and [Plan] for the calculation. What is
// deliberately absent: terminals and files.
package facts

import (
	"fmt"
	"strings"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// Fact is an entry in one line, in the words of the floor.
func Fact(e schema.Entry) string {
	for _, say := range sayings {
		if text, ok := say(e); ok {
			return strings.Join(strings.Fields(text), " ")
		}
	}
	return e.Kind
}

// Told are the entries of a record, in order, each as [Fact] has it: one that a
// correction took back says so, and a correction names it by its number.
func Told(r schema.Record) []string {
	corrections, written := state.Corrections(r), state.Written(r)
	told := make([]string, len(written))
	for i, e := range written {
		told[i] = In(r, e)
		if by, gone := corrections[e.ID]; gone {
			told[i] += fmt.Sprintf(" [taken back by #%d]", by.Counter)
		}
	}
	return told
}

// In is an entry of a record as [Fact] has it, with the numbers of the entries
// that it names.
func In(r schema.Record, e schema.Entry) string {
	if d, err := schema.Into[schema.CorrectData](e); err == nil {
		return numbered(r, Fact(e), d.Entry, d.By)
	}
	if d, err := schema.Into[schema.ConfirmData](e); err == nil {
		return numbered(r, Fact(e), d.Entry)
	}
	return Fact(e)
}

// numbered writes entries of a record by their numbers.
func numbered(r schema.Record, text string, ids ...string) string {
	for _, id := range ids {
		if e, here := r.Entry(id); here && id != "" {
			text = strings.ReplaceAll(text, id, fmt.Sprintf("#%d", e.Counter))
		}
	}
	return text
}

// sayings tell each kind of entry; adding a kind is adding a line.
var sayings = []func(schema.Entry) (string, bool){
	saying(vehicleFact), saying(visitFact), saying(planFact), saying(fitFact), saying(removeFact), saying(stepFact),
	saying(Reading), saying(cautionFact), saying(datalogFact), saying(evidenceFact), saying(pointFact), saying(confirmFact),
	saying(acknowledgeFact), saying(waiveFact), saying(holdFact), saying(signOffFact), saying(incidentFact),
	saying(noteFact), saying(correctFact), saying(personFact), saying(keyFact), saying(limitFact), saying(bayFact),
	saying(gaugeFact), saying(calibrationFact), saying(checkFact), saying(partFact), saying(receiptFact), saying(quarantineFact),
}

// saying makes a teller of one type into a teller of its entries.
func saying[T schema.Data](tell func(T) string) func(schema.Entry) (string, bool) {
	return func(e schema.Entry) (string, bool) {
		d, err := schema.Into[T](e)
		if err != nil {
			return "", false
		}
		return tell(d), true
	}
}

// joined puts the parts that say something together.
func joined(separator string, parts ...string) string {
	var out []string
	for _, p := range parts {
		if p != "" {
			out = append(out, p)
		}
	}
	return strings.Join(out, separator)
}

// with puts a word before a text, when there is one.
func with(word, text string) string {
	if text == "" {
		return ""
	}
	return word + text
}

func vehicleFact(d schema.VehicleData) string {
	return joined(", ", "car "+d.Name, with("plate ", d.Plate), with("VIN ", d.VIN), d.Description)
}

func visitFact(d schema.VisitData) string {
	kinds := make([]string, len(d.Kinds))
	for i, k := range d.Kinds {
		kinds[i] = string(k)
	}
	text := fmt.Sprintf("visit %s opened", d.Visit)
	if d.Action == schema.CloseVisit {
		text = fmt.Sprintf("visit %s closed", d.Visit)
	}
	return joined(", ", text, with("jobs ", strings.Join(kinds, " and ")), with("odometer ", d.Odometer.String()), with("bay ", d.Bay), d.Reason, quoted(d.Words))
}

func quoted(words string) string {
	if words == "" {
		return ""
	}
	return `"` + words + `"`
}

func planFact(d schema.PlanData) string {
	return joined(", ", "plan: "+Envelope(d.Envelope), fmt.Sprintf("%d x pump %s", d.Pumps.Count, d.Pumps.Part), injectorsOf(d))
}

func injectorsOf(d schema.PlanData) string {
	if d.Injectors == nil {
		return ""
	}
	return fmt.Sprintf("%d x injector %s", d.Injectors.Count, d.Injectors.Part)
}

func fitFact(d schema.FitData) string {
	part := d.Part
	if part == "" {
		part = "no part record: " + d.WhyNone
	}
	if d.Count > 1 {
		part = fmt.Sprintf("%d x %s", d.Count, part)
	}
	opened := ""
	if d.Opens == schema.Yes {
		opened = "opened a joint"
	}
	return joined(", ", fmt.Sprintf("fitted %s: %s", d.Position, part), with("serial ", strings.Join(d.Serials, " ")), opened, d.Note)
}

func removeFact(d schema.RemoveData) string {
	return joined(", ", fmt.Sprintf("removed %s", d.Position), d.Part, d.Why, d.Condition)
}

func stepFact(d schema.StepData) string {
	return joined(", ", fmt.Sprintf("step %s %s", d.Step, d.State), d.Why, with("joint ", d.Joint), with("torque ", d.Torque.String()), with("with ", d.Second), d.Note)
}

// Reading is a reading in one line: "base: rail 43.5 psi (3.00 bar) on P1".
func Reading(d schema.ReadingData) string {
	var values []string
	gauge := ""
	for _, v := range d.Values {
		text := v.Name + " " + value(v)
		if v.Gauge != nil && v.Gauge.Gauge != gauge {
			gauge = v.Gauge.Gauge
			text += " on " + gauge
		}
		values = append(values, text)
	}
	return joined(", ", d.Test+": "+strings.Join(values, ", "), conditions(d.Conditions), with("second ", d.Second), with("late: ", d.Late), d.Note)
}

func value(v schema.Value) string {
	switch {
	case v.State != "":
		return joined(": ", v.State, v.Why)
	case v.Seen != "":
		return v.Seen
	}
	return Both(v.Written())
}

// Value is a value of a reading as it was written, in both systems of units.
func Value(v schema.Value) string { return value(v) }

// Conditions are the conditions of a reading in words.
func Conditions(c schema.Conditions) string { return conditions(&c) }

func conditions(c *schema.Conditions) string {
	if c == nil {
		return ""
	}
	return joined(", ", with("hose ", c.Hose), with("engine ", c.Engine), c.Speed.String(), with("fuel ", c.FuelLevel.String()),
		with("ethanol ", c.Ethanol.String()), with("fuel at ", c.FuelTemp.String()), with("air ", c.AirTemp.String()),
		with("barometer ", c.Barometer.String()), with("charger ", string(c.Charger)))
}

func cautionFact(d schema.CautionData) string {
	return joined(", ", fmt.Sprintf("caution %s %s", d.Caution, d.State), with("at ", d.Where), d.Proof, d.Why, with("with ", strings.Join(d.Persons, " ")))
}

func datalogFact(d schema.DatalogData) string {
	return fmt.Sprintf("datalog %s, %s run, %d bytes, %s", d.File, d.Run, d.Bytes, short(d.SHA256))
}

func evidenceFact(d schema.EvidenceData) string {
	return joined(", ", "evidence: "+d.What, d.Type, fmt.Sprintf("%d bytes", d.Bytes), short(d.SHA256), with("step ", d.Step))
}

// shortHash is how much of a hash a person compares.
const shortHash = 12

func short(hash string) string { return hash[:min(len(hash), shortHash)] }

func pointFact(d schema.HoldPointData) string {
	done := "closed"
	if d.Action == schema.ReopenPoint {
		done = "re-opened"
	}
	return joined(", ", fmt.Sprintf("hold point %s %s", d.Point, done), with("second ", d.Second), with("late: ", d.Late), d.Why)
}

func confirmFact(d schema.ConfirmData) string {
	return joined(": ", "confirmed "+d.Entry, d.Saw)
}

func acknowledgeFact(d schema.AcknowledgeData) string {
	return joined(": ", "acknowledged "+Answered(d.Rule, d.Subject, string(d.Code), d.Values), d.Why)
}

func waiveFact(d schema.WaiveData) string {
	return joined(", ", "waived "+Answered(d.Rule, d.Subject, string(d.Code), d.Values), d.Why, with("instead: ", d.Measure), with("until ", d.Expires))
}

// Answered is what an answer is about, for people: the rule, what it judged
// unless that is an entry's id, why, and the values as they were.
func Answered(rule, subject, code string, values []schema.Amount) string {
	if schema.IsID(subject) {
		subject = ""
	}
	return joined(": ", joined(" ", rule, subject, code), schema.Text(values))
}

func holdFact(d schema.HoldData) string {
	var open []string
	for _, f := range d.Findings {
		open = append(open, f.Severity.String()+" "+f.Name())
	}
	if len(open) == 0 {
		return joined(": ", "hold lifted", d.Why)
	}
	return joined(", ", "car HELD: "+strings.Join(open, "; "), d.Why)
}

func signOffFact(d schema.SignOffData) string {
	s := d.Statement
	return fmt.Sprintf("SIGNED OFF by %s for %s; %d entries seen; re-check by %s", s.Person, Envelope(s.Envelope), s.Entries, s.Recheck)
}

func incidentFact(d schema.IncidentData) string {
	return joined(", ", "incident: "+d.What, d.Severity, with("injury ", string(d.Injury)), d.Action)
}

func noteFact(d schema.NoteData) string { return "note: " + d.Text }

func correctFact(d schema.CorrectData) string {
	return joined(", ", fmt.Sprintf("%s of entry %s", d.Action, d.Entry), d.Why, with("instead ", d.By), with("to ", d.To))
}

func personFact(d schema.PersonData) string {
	roles := make([]string, len(d.Roles))
	for i, r := range d.Roles {
		roles[i] = string(r)
	}
	return fmt.Sprintf("person %s, %s: %s", d.Person, d.Name, strings.Join(roles, ", "))
}

func keyFact(d schema.KeyData) string {
	return joined(", ", fmt.Sprintf("key of %s: %s", d.Person, d.Action), d.Why)
}

func limitFact(d schema.LimitData) string {
	return joined(", ", "limit "+d.Limit+": "+strings.TrimSpace(d.Value+" "+d.Unit), d.Why)
}

func bayFact(d schema.BayData) string {
	return joined(", ", "bay "+d.Bay, with("air ", d.AirSpace), with("beside ", strings.Join(d.Neighbours, " ")))
}

func gaugeFact(d schema.GaugeData) string {
	return joined(", ", "gauge "+d.Name, string(d.Measures), with("serial ", d.Serial))
}

func calibrationFact(d schema.CalibrationData) string {
	return joined(", ", "calibrated "+d.Date, "due "+d.Due, d.Lab, d.Certificate)
}

func checkFact(d schema.CheckData) string {
	return joined(", ", fmt.Sprintf("%s: %s", d.Check, d.Result), d.Value.String(), d.Note)
}

func partFact(d schema.PartData) string {
	return joined(", ", fmt.Sprintf("part %s: %s", d.Part, d.Name), d.Mark, with("lot ", d.Lot))
}

func receiptFact(d schema.ReceiptData) string {
	return joined(", ", fmt.Sprintf("%d received %s", d.Quantity, d.Date), d.Supplier, d.Invoice, d.State)
}

func quarantineFact(d schema.QuarantineData) string {
	if d.Action == schema.ToldOwner {
		return fmt.Sprintf("owner of %s was told: %s", d.Car, d.Why)
	}
	return fmt.Sprintf("quarantine %s: %s", d.Action, d.Why)
}

// Accuracy says how good an instrument is: "1 % of 10 bar".
func Accuracy(g schema.GaugeSnapshot) string {
	switch {
	case !g.Accuracy.IsZero():
		return "± " + g.Accuracy.String()
	case g.Class != "" && !g.Span.IsZero():
		return fmt.Sprintf("class %s of %s", g.Class, g.Span)
	}
	return ""
}

// Envelope is the limits a car is planned for or released under, in one line.
func Envelope(e schema.Envelope) string {
	return joined(", ", inBoth(e.Power), inBoth(e.Manifold), e.Speed.String(),
		"ethanol "+e.EthanolMin.String()+" to "+e.EthanolMax.String(), "altitude to "+e.Altitude.String(), "fuel level from "+e.FuelLevel.String())
}

func inBoth[T quantity.Quantity](q schema.Q[T]) string {
	if !q.Known() {
		return q.String()
	}
	return Both(q.Written)
}
