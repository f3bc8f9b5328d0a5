package sheet

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"feedproof/checklist"
	"feedproof/checklist/car"
	"feedproof/schema"
)

// HandOver is the hand-over sheet of a car as Markdown: what may be asked of
// it, what is fitted, what was read, what is open, who signed.
func HandOver(a checklist.Assessment) string {
	var b page
	c := a.Car
	b.head("# Hand-over sheet: " + joined(", ", c.Vehicle.Name, with("plate ", c.Vehicle.Plate)))
	b.line(joined(", ", c.Vehicle.Description, with("VIN ", c.Vehicle.VIN), with("engine ", c.Vehicle.Engine)))
	b.release(a)
	b.envelope(c)
	b.fitted(c)
	b.readings(c)
	b.findings("What the lead saw and what is open", shown(a.Findings))
	b.points(a)
	b.signature(c)
	b.owner()
	return b.String()
}

// shown lists the findings that a customer's sheet names.
func shown(found []schema.Finding) []schema.Finding {
	return slices.DeleteFunc(slices.Clone(found), func(f schema.Finding) bool { return f.Severity < schema.Flag })
}

// page is Markdown being written.
type page struct{ strings.Builder }

func (b *page) head(text string) { fmt.Fprintf(b, "%s\n\n", text) }

func (b *page) line(text string) {
	if text != "" {
		fmt.Fprintf(b, "%s\n\n", text)
	}
}

// table writes a Markdown table; without rows it says so.
func (b *page) table(header []string, rows [][]string, none string) {
	if len(rows) == 0 {
		b.line(none)
		return
	}
	fmt.Fprintf(b, "| %s |\n|%s\n", strings.Join(header, " | "), strings.Repeat(" --- |", len(header)))
	for _, r := range rows {
		cells := make([]string, len(r))
		for i, c := range r {
			cells[i] = cell(c)
		}
		fmt.Fprintf(b, "| %s |\n", strings.Join(cells, " | "))
	}
	b.WriteString("\n")
}

// cell keeps what people wrote from breaking the table.
func cell(text string) string {
	return strings.NewReplacer("|", "\\|", "\n", " ", "\r", " ").Replace(text)
}

func (b *page) release(a checklist.Assessment) {
	c := a.Car
	open := checklist.Open(a.Findings)
	switch signed, ok := lastSignOff(c); {
	case c.Held != nil:
		b.line("**NOT RELEASED: the car is held.** " + firstOpen(open))
	case len(open) > 0:
		b.line("**NOT RELEASED.** " + firstOpen(open))
	case !ok:
		b.line("**NOT RELEASED: no lead has signed.** Next: " + a.Next)
	default:
		b.line(fmt.Sprintf("**Released** by %s on %s, under the envelope below and no other. Re-check by %s.",
			personName(c, signed.Data.Statement.Person), day(signed.Entry.At), signed.Data.Statement.Recheck))
	}
	if c.FuelOpen() {
		b.line("**FUEL OPEN:** a joint was opened and not leak-tested since.")
	}
}

// lastSignOff is the sign-off that still stands: no entry of the visit came
// after it but notes, and the end of the visit.
func lastSignOff(c *car.Car) (car.SignOff, bool) {
	if len(c.SignOffs) == 0 {
		return car.SignOff{}, false
	}
	last := c.SignOffs[len(c.SignOffs)-1]
	for _, e := range c.Record.Entries {
		if schema.Order(e, last.Entry) > 0 && e.Kind != "note" && e.Kind != "visit" {
			return last, false
		}
	}
	return last, true
}

func firstOpen(open []schema.Finding) string {
	if len(open) == 0 {
		return ""
	}
	return fmt.Sprintf("%s: %s (limit %s). Next: %s.", open[0].About, open[0].Measured, open[0].Limit, open[0].Next)
}

func (b *page) envelope(c *car.Car) {
	if c.Plan == nil {
		return
	}
	e := c.Plan.Envelope
	if signed, ok := lastSignOff(c); ok {
		e = signed.Data.Statement.Envelope
	}
	b.head("## What may be asked of it")
	b.table([]string{"Limit", "Value"}, [][]string{
		{"power, at the " + string(c.Plan.Basis), inBoth(e.Power)},
		{"manifold pressure", inBoth(e.Manifold)},
		{"engine speed", e.Speed.String()},
		{"ethanol in the fuel", e.EthanolMin.String() + " to " + e.EthanolMax.String()},
		{"altitude", "up to " + e.Altitude.String()},
		{"fuel level for hard driving", "from " + e.FuelLevel.String()},
	}, "")
}

func (b *page) fitted(c *car.Car) {
	b.head("## What is fitted")
	b.table([]string{"Where", "Part", "By", "Date", "What"}, Fitted(c), "Nothing is recorded as fitted.")
}

// Fitted lists what is fitted: where, part, by, date, what it is.
func Fitted(c *car.Car) [][]string {
	var rows [][]string
	for _, position := range sortedKeys(c.Fitted) {
		f := c.Fitted[position]
		name := f.Data.WhyNone
		if f.Part != nil {
			name = joined(", ", f.Part.Name, f.Part.Mark, with("lot ", f.Part.Lot))
		}
		rows = append(rows, []string{position, count(f.Data.Count) + f.Data.Part, f.Entry.By, day(f.Entry.At), name})
	}
	return rows
}

func count(n int) string {
	if n < 2 {
		return ""
	}
	return fmt.Sprintf("%d x ", n)
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// readings lists the last reading of each test in the visit.
func (b *page) readings(c *car.Car) {
	b.head("## What was read")
	var rows [][]string
	for _, t := range schema.Tests {
		r, ok := c.Last(t.Name)
		if !ok {
			continue
		}
		rows = append(rows, []string{t.Title, strings.TrimPrefix(Reading(r.Data), t.Name+": "), r.Entry.By, stamp(r.Entry.At)})
	}
	b.table([]string{"Reading", "Value", "By", "At"}, rows, "Nothing was read.")
}

func (b *page) findings(title string, found []schema.Finding) {
	b.head("## " + title)
	var rows [][]string
	for _, f := range found {
		state := ""
		if f.Answered != "" {
			state = "answered"
		}
		rows = append(rows, []string{f.Severity.String(), f.Rule, f.About, f.Measured, f.Limit, state})
	}
	b.table([]string{"", "Rule", "What", "Measured", "Limit", ""}, rows, "Nothing is open.")
}

func (b *page) points(a checklist.Assessment) {
	b.head("## Hold points")
	var rows [][]string
	for _, p := range a.Points {
		if p.Release {
			continue
		}
		rows = append(rows, []string{p.ID, p.Name, joined(": ", string(p.State), p.Why), p.ClosedBy, stamp(p.At)})
	}
	b.table([]string{"", "What", "State", "By", "At"}, rows, "No visit is open.")
}

func (b *page) signature(c *car.Car) {
	signed, ok := lastSignOff(c)
	if !ok {
		return
	}
	s := signed.Data.Statement
	b.head("## Signature")
	b.line(fmt.Sprintf("%s, %s, signed on %s over %d entries, rule set %s. Digest `%s`. `feedproof verify` proves it.",
		personName(c, s.Person), s.Role, s.At, s.Entries, s.RuleSet, s.Digest))
}

// owner is what every owner of a modified fuel system is told.
func (b *page) owner() {
	b.head("## For the owner")
	b.line("- A smell of fuel: stop, do not drive, call the shop.\n" +
		"- Another fuel, more boost or more power than above: the figures no longer hold.\n" +
		"- Bring the car for the re-check, cold, with no more than a few hundred kilometres on it.\n" +
		"- Local codes, inspection rules, makers' instructions and licensed trades come before this sheet. It states what was planned, done and measured; it does not say that the car is legal.")
}

func personName(c *car.Car, id string) string {
	if p, ok := c.Person(id); ok && p.Name != "" {
		return fmt.Sprintf("%s (%s)", p.Name, id)
	}
	return id
}

func day(t time.Time) string { return t.UTC().Format(time.DateOnly) }

func stamp(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format("2006-01-02 15:04")
}

// Held reports that the car is held: the last hold names findings, and neither
