package audit

import (
	"encoding/json"
	"slices"
	"strings"
	"time"

	"feedproof/checklist/past"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"

	jsonv2 "github.com/go-json-experiment/json"
)

// Tables of facts that are gathered from each record. A question reads them
// for the whole shop, and looks into single records for what they do not hold.
const (
	tableNames   = "names"
	tableCars    = "cars"
	tableVisits  = "visits"
	tableFits    = "fits"
	tableWaivers = "waivers"
	tableGauges  = "gauges"
	tableProofs  = "proofs"
	tableHashes  = "hashes"
	tablePoints  = "points"
	tableCuts    = "cuts"
	tableEdits   = "edits"
	tableFlows   = "flows"
	tableValues  = "values"
	tableParts   = "parts"
)

// Gather makes the facts of a record from the record alone, as JSON lists by
// table: all but its words.
func Gather(r schema.Record) (map[string][]byte, error) {
	facts := map[string][]byte{}
	put := func(table string, rows any, n int) error {
		facts[table] = nil
		if n == 0 {
			return nil
		}
		text, err := json.Marshal(rows)
		facts[table] = text
		return err
	}
	switch r.Kind {
	case schema.VehicleRecord:
		return facts, gatherVehicle(r, facts, put)
	case schema.PartRecord:
		return facts, put(tableParts, []partFact{gatherPart(r)}, 1)
	}
	return facts, nil
}

// decode reads rows that Gather wrote.
func decode[T any](facts []byte) (rows []T, err error) {
	err = jsonv2.Unmarshal(facts, &rows)
	return rows, err
}

func gatherVehicle(r schema.Record, facts map[string][]byte, put func(string, any, int) error) error {
	c := state.Fold(state.Told(r), schema.Shop{}, time.Time{})
	visits := past.Visits(c)
	facts[tableNames], facts[tableValues] = nameFact(c, visits), valueFacts(c)
	components := past.Components(c, visits)
	readings := make(map[string]schema.ReadingData, len(c.Readings)) // by entry: decoded once
	for _, r := range c.Readings {
		readings[r.Entry.ID] = r.Data
	}
	stays := visitFacts(c, visits, readings)
	fits := fitFacts(components)
	waivers := waiverFacts(c, visits)
	gauges := gaugeFacts(c)
	proofs := proofFacts(visits, readings)
	hashes := hashFacts(c, visits)
	points := pointFacts(c, visits, readings)
	cuts := cutFacts(c)
	edits := editFacts(c, visits)
	flows := flowFacts(c, visits, components)
	for _, t := range []struct {
		table string
		rows  any
		n     int
	}{
		{tableCars, []carFact{carFactOf(c, visits)}, 1}, {tableVisits, stays, len(stays)}, {tableFits, fits, len(fits)},
		{tableWaivers, waivers, len(waivers)}, {tableGauges, gauges, len(gauges)}, {tableProofs, proofs, len(proofs)}, {tableHashes, hashes, len(hashes)},
		{tablePoints, points, len(points)}, {tableCuts, cuts, len(cuts)}, {tableEdits, edits, len(edits)}, {tableFlows, flows, len(flows)},
	} {
		if err := put(t.table, t.rows, t.n); err != nil {
			return err
		}
	}
	return nil
}

// stamp is an entry: which, when and by whom.
type stamp struct {
	Entry string `json:"e"`
	Unix  int64  `json:"t"`
	By    string `json:"b,omitempty"`
}

func stampOf(e schema.Entry) *stamp { return &stamp{e.ID, e.At.Unix(), e.By} }

func (s *stamp) at() time.Time { return time.Unix(s.Unix, 0).UTC() }

// id is the stamp's entry; empty for none.
func (s *stamp) id() string {
	if s == nil {
		return ""
	}
	return s.Entry
}

// day is the stamp's date; empty for none.
func (s *stamp) day() string {
	if s == nil {
		return ""
	}
	return s.at().Format(time.DateOnly)
}

// carFact is what a car is and how it stands.
type carFact struct {
	Name    string `json:"n"`
	Plate   string `json:"p,omitempty"`
	VIN     string `json:"v,omitempty"`
	Owner   string `json:"o,omitempty"`
	Here    bool   `json:"h,omitempty"` // a visit is open
	Held    *stamp `json:"x,omitempty"` // the hold that stands
	Stopped bool   `json:"s,omitempty"` // a finding of that hold says STOP
	Ethanol *stamp `json:"e,omitempty"` // last ethanol reading
	Ended   *stamp `json:"c,omitempty"` // the shop's care for it ended
	Keep    string `json:"k,omitempty"` // until when its record is kept then
	Blend   bool   `json:"f,omitempty"` // its last plan or envelope allows more than 10 % ethanol, or does not know
}

// ethanolCar is the share above which a car counts as one on ethanol. Source:
// common practice, as the rules for materials have it.
const ethanolCar = quantity.Fraction(0.10)

func carFactOf(c *state.Car, visits []past.Visit) carFact {
	f := carFact{Name: c.Vehicle.Name, Plate: c.Vehicle.Plate, VIN: c.Vehicle.VIN, Owner: c.Vehicle.Owner}
	f.Here = len(visits) > 0 && visits[len(visits)-1].Close == nil
	if c.Held != nil {
		f.Held = stampOf(*c.Held)
		if d, is := past.As[schema.HoldData](*c.Held); is {
			f.Stopped = slices.ContainsFunc(d.Findings, func(f schema.Finding) bool { return f.Severity == schema.Stop })
		}
	}
	for _, r := range c.Readings {
		if r.Data.Test == "ethanol" {
			f.Ethanol = stampOf(r.Entry)
		}
	}
	if care, ended := past.CareEnded(c, visits); ended {
		f.Ended, f.Keep = stampOf(care.Entry), care.Until
	}
	if c.Plan != nil {
		most, err := c.Plan.Envelope.EthanolMax.SI()
		f.Blend = err != nil || most > ethanolCar
	}
	return f
}

// visitFact is one stay.
type visitFact struct {
	No      string           `json:"n"`
	Kinds   []schema.JobKind `json:"k,omitempty"`
	Reason  string           `json:"r,omitempty"`
	Words   string           `json:"w,omitempty"`
	Open    *stamp           `json:"o"`
	Close   *stamp           `json:"c,omitempty"`
	In      *float64         `json:"i,omitempty"` // odometer, km
	Out     *float64         `json:"u,omitempty"`
	Release *stamp           `json:"s,omitempty"`
	RuleSet string           `json:"rs,omitempty"`
	Due     string           `json:"due,omitempty"`
	Recheck *stamp           `json:"rc,omitempty"` // HP11 closed after the release, in whichever visit
	Workers []string         `json:"by,omitempty"`
	Leak    *stamp           `json:"lk,omitempty"` // first leak or smell seen in this visit before a joint was opened
}

// boundedVisit is one stay as the table holds it, with what was declared on
// arrival and the envelope of the release. They are long, and few ask for them.
type boundedVisit struct {
	visitFact
	Declared *schema.Declared `json:"d,omitempty"`
	Envelope *schema.Envelope `json:"l,omitempty"`
}

func visitFacts(c *state.Car, visits []past.Visit, readings map[string]schema.ReadingData) []boundedVisit {
	var out []boundedVisit
	for _, v := range visits {
		f := boundedVisit{Declared: v.Opening.Declared}
		f.visitFact = visitFact{No: v.Number, Kinds: v.Opening.Kinds, Reason: v.Opening.Reason, Words: v.Opening.Words, Open: stampOf(v.Open)}
		f.In, f.Out = kilometres(v.Opening.Odometer), kilometres(v.Closing.Odometer)
		if v.Close != nil {
			f.Close = stampOf(*v.Close)
		}
		if v.Release != nil {
			st := v.Release.Statement
			f.Release, f.Envelope, f.RuleSet, f.Due = stampOf(v.Release.Entry), &st.Envelope, st.RuleSet, st.Recheck
			f.Workers = v.Workers(v.Release.Entry)
			f.Recheck = recheck(c, v.Release.Entry)
		}
		f.Leak = leakOnArrival(v, readings)
		out = append(out, f)
	}
	return out
}

func kilometres(q schema.Q[quantity.Length]) *float64 {
	x, err := q.SI()
	if err != nil {
		return nil
	}
	km := quantity.In(x, "km")
	return &km
}

// recheck is the first closing of HP11 after a release.
func recheck(c *state.Car, release schema.Entry) *stamp {
	for _, p := range c.Points {
		if p.Data.Point == "HP11" && p.Data.Action == schema.ClosePoint && schema.Order(p.Entry, release) > 0 {
			return stampOf(p.Entry)
		}
	}
	return nil
}

// leakOnArrival is the first leak, damp or smell that was seen before anything
// was fitted, removed or done in the visit.
func leakOnArrival(v past.Visit, readings map[string]schema.ReadingData) *stamp {
	for _, e := range v.Entries {
		switch e.Kind {
		case "step", "fit", "remove":
			return nil
		case "caution":
			if d, is := past.As[schema.CautionData](e); is && d.Caution == "K20" && d.State == schema.CautionSeen {
				return stampOf(e)
			}
		case "reading":
			if slices.ContainsFunc(readings[e.ID].Values, func(v schema.Value) bool { return v.Seen == "wet" || v.Seen == "damp" || v.Seen == "smell" }) {
				return stampOf(e)
			}
		}
	}
	return nil
}

// fitFact is a part in a position.
type fitFact struct {
	Position string   `json:"p"`
	Part     string   `json:"q,omitempty"`
	WhyNone  string   `json:"w,omitempty"`
	Serials  []string `json:"s,omitempty"`
	In       *stamp   `json:"i"`
	Visit    string   `json:"v,omitempty"`
	At       *float64 `json:"k,omitempty"` // odometer when it went in, km
	Out      *stamp   `json:"o,omitempty"`
	Why      string   `json:"y,omitempty"`
	Until    *float64 `json:"u,omitempty"` // odometer when it came out
}

func fitFacts(components []past.Component) []fitFact {
	var out []fitFact
	for _, k := range components {
		f := fitFact{Position: k.Data.Position, Part: k.Data.Part, WhyNone: k.Data.WhyNone, Serials: k.Data.Serials, In: stampOf(k.In), Visit: k.Visit.Number}
		f.At = kilometres(k.Visit.Opening.Odometer)
		if k.Out != nil {
			f.Out, f.Why, f.Until = stampOf(*k.Out), k.Why, kilometres(k.Leaves.Opening.Odometer)
		}
		out = append(out, f)
	}
	return out
}

// waiverFact is a waiver.
type waiverFact struct {
	stamp
	Finding  string        `json:"f"`
	Measured string        `json:"m,omitempty"`
	Expires  string        `json:"x"`
	Informed schema.Answer `json:"i"`
	Why      string        `json:"y,omitempty"` // in small letters, single spaces
	Visit    string        `json:"v"`
	Left     *stamp        `json:"l,omitempty"` // the sign-off under which the car left with it
}

func waiverFacts(c *state.Car, visits []past.Visit) []waiverFact {
	var out []waiverFact
	for _, w := range c.Waivers {
		v, _ := past.VisitAt(visits, w.Entry)
		f := waiverFact{stamp: *stampOf(w.Entry), Finding: w.Data.Key(), Measured: schema.Text(w.Data.Values), Expires: w.Data.Expires, Informed: w.Data.Informed, Why: strings.ToLower(strings.Join(strings.Fields(w.Data.Why), " ")), Visit: v.Number}
		if v.Release != nil && schema.Order(w.Entry, v.Release.Entry) < 0 {
			f.Left = stampOf(v.Release.Entry)
		}
		out = append(out, f)
	}
	return out
}

// gaugeFact is how a car's readings used one gauge.
type gaugeFact struct {
	Gauge    string   `json:"g"`
	Days     []string `json:"d"`           // dates of use, in order, each once
	Lapsed   bool     `json:"l,omitempty"` // some reading was after the due date that was copied with it
	Unbumped []useRow `json:"u,omitempty"` // gas readings without a bump test on the same day before them
}

// useRow is a reading and the last bump test before it.
type useRow struct {
	stamp
	Bumped string `json:"u,omitempty"`
}

func gaugeFacts(c *state.Car) []gaugeFact {
	var out []gaugeFact
	for _, r := range c.Readings {
		for _, v := range r.Data.Values {
			if v.Gauge == nil {
				continue
			}
			i := slices.IndexFunc(out, func(f gaugeFact) bool { return f.Gauge == v.Gauge.Gauge })
			if i < 0 {
				out, i = append(out, gaugeFact{Gauge: v.Gauge.Gauge}), len(out)
			}
			out[i].use(r, *v.Gauge)
		}
	}
	return out
}

func (f *gaugeFact) use(r state.Reading, g schema.GaugeSnapshot) {
	f.Days = addSorted(f.Days, r.Entry.At.UTC().Format(time.DateOnly))
	f.Lapsed = f.Lapsed || lapsed(r.Entry.At, g.Due)
	last := len(f.Unbumped) - 1
	if r.Data.Test == "gas" && !bumped(r.Entry, g) && (last < 0 || f.Unbumped[last].Entry != r.Entry.ID) {
		f.Unbumped = append(f.Unbumped, useRow{*stampOf(r.Entry), g.Bumped})
	}
}

func addSorted(list []string, s string) []string {
	i, there := slices.BinarySearch(list, s)
	if there {
		return list
	}
	return slices.Insert(list, i, s)
}

// lapsed reports that a gauge was past its due date, or had none, when it was
// read, as the copy in the reading says. The due date itself is in date.
func lapsed(at time.Time, dueDate string) bool {
	due, err := time.Parse(time.DateOnly, dueDate)
	return err != nil || at.After(due.AddDate(0, 0, 1))
}

// bumped reports a bump test on the day of the reading, before it.
func bumped(e schema.Entry, g schema.GaugeSnapshot) bool {
	at, err := time.Parse(time.RFC3339, g.Bumped)
	return err == nil && !at.After(e.At) && at.UTC().Format(time.DateOnly) == e.At.UTC().Format(time.DateOnly)
}

// proofFact is what a visit measured with which gauges, in order, and which
// hold points were closed on it.
type proofFact struct {
	Visit    string        `json:"v"`
	Release  *stamp        `json:"s,omitempty"`
	Signed   int           `json:"l,omitempty"` // how many of the readings the sign-off came after
	Readings []readFact    `json:"r"`
	Closings []closingFact `json:"p,omitempty"`
}

// readFact is a reading and its gauges.
type readFact struct {
	Entry  string     `json:"e"`
	Unix   int64      `json:"t"`
	Test   string     `json:"k"`
	Gauges []gaugeDue `json:"g,omitempty"`
}

// gaugeDue is a gauge with the due date that was copied with a value.
type gaugeDue struct {
	Gauge string `json:"g"`
	Due   string `json:"d,omitempty"`
}

// closingFact is a hold point being closed after so many readings.
type closingFact struct {
	Entry string   `json:"e"`
	Point string   `json:"p"`
	After int      `json:"n"`
	Rests []string `json:"r,omitempty"`
}

func proofFacts(visits []past.Visit, readings map[string]schema.ReadingData) []proofFact {
	var out []proofFact
	for _, v := range visits {
		f := proofFact{Visit: v.Number}
		for _, e := range v.Entries {
			if d, is := readings[e.ID]; is {
				f.Readings = append(f.Readings, readFactOf(e, d))
			}
			if d, is := past.As[schema.HoldPointData](e); is && d.Action == schema.ClosePoint {
				f.Closings = append(f.Closings, closingFact{e.ID, d.Point, len(f.Readings), d.Rests})
			}
			if v.Release != nil && e.ID == v.Release.Entry.ID {
				f.Release, f.Signed = stampOf(e), len(f.Readings)
			}
		}
		if len(f.Readings) > 0 {
			out = append(out, f)
		}
	}
	return out
}

func readFactOf(e schema.Entry, d schema.ReadingData) readFact {
	f := readFact{Entry: e.ID, Unix: e.At.Unix(), Test: d.Test}
	for _, v := range d.Values {
		if v.Gauge == nil {
			continue
		}
		if g := (gaugeDue{v.Gauge.Gauge, v.Gauge.Due}); !slices.Contains(f.Gauges, g) {
			f.Gauges = append(f.Gauges, g)
		}
	}
	return f
}

// hashFact is a photo, file or log by its hash.
type hashFact struct {
	stamp
	SHA256 string `json:"h"`
	What   string `json:"w"`
	Visit  string `json:"v"`
}

func hashFacts(c *state.Car, visits []past.Visit) []hashFact {
	var out []hashFact
	for _, e := range c.Record.Entries {
		add := func(sha, what string) {
			if sha != "" {
				v, _ := past.VisitAt(visits, e)
				out = append(out, hashFact{*stampOf(e), sha, what, v.Number})
			}
		}
		if d, is := past.As[schema.EvidenceData](e); is {
			add(d.SHA256, d.What)
			if d.Original != d.SHA256 {
				add(d.Original, d.What+" (original)")
			}
		}
		if d, is := past.As[schema.DatalogData](e); is {
			add(d.SHA256, "log "+d.File)
		}
	}
	return out
}
