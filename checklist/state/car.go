// Package state folds a vehicle record into the state that rules and screens
// ask for: what is fitted, what was read, which joints were opened, which
// answers stand.
//
// Start with [Histories], which are judged, each by its [Fold]; the worst of all
// holds. [Told] is the record as it is listed, for telling what stands in it.
// Nothing goes by wall clock; corrections go first.
package state

import (
	"sync"
	"time"

	"feedproof/checklist/procedures"
	"feedproof/schema"
	"feedproof/schema/places"
)

// Car is a vehicle record, folded at a moment.
type Car struct {
	Record schema.Record
	Sight  *schema.Sight // who saw what, in the whole record
	Shop   schema.Shop
	Now    time.Time
	Book   procedures.Book

	Vehicle       schema.VehicleData
	Visit         *Visit
	Visits        []Visit
	Plan          *schema.PlanData
	PlanBy        schema.Entry
	Fitted        map[string]Fitted
	Changes       []Change // fittings and removals, in order
	Readings      []Reading
	Steps         []Step
	Openings      []Opening
	Cautions      []Caution
	Points        []PointEntry
	Confirmations []Confirmation
	Acks          []Ack
	Waivers       []Waiver
	Logs          []Log
	SignOffs      []SignOff
	Held          *schema.Entry // the last hold, unless a sign-off came later

	VisitEntries []VisitEntry // openings and closings of visits
	Evidence     []Evidence
	Files        []File // evidence and logs

	kept    *kept
	claimed *Car
	apart   bool                     // some entries had not seen each other
	todo    func() []procedures.Step // of the visit's jobs
	dropped map[string]schema.Entry  // the corrections, by the entries that they took back
	instead map[string]schema.Entry  // what each replacement stands in for, by the replacement's id
}

// VisitEntry is a visit being opened or closed.
type VisitEntry struct {
	Entry schema.Entry
	Data  schema.VisitData
}

// Evidence is a photo or a file.
type Evidence struct {
	Entry schema.Entry
	Data  schema.EvidenceData
}

// File is a photo, a file or a log that an entry brings.
type File struct {
	Entry  schema.Entry
	What   string
	SHA256 string
}

// Visit is one stay of the car.
type Visit struct {
	Entry  schema.Entry
	Data   schema.VisitData
	Closed bool
}

// Fitted is what is in a position now.
type Fitted struct {
	Entry schema.Entry
	Data  schema.FitData
	Part  *schema.PartData // nil when there is no part record
}

// Change is a fitting, a removal or a new plan: what makes earlier tests void.
type Change struct {
	Entry    schema.Entry
	Position string
}

// Reading is a reading entry.
type Reading struct {
	Entry schema.Entry
	Data  schema.ReadingData
}

// Kind is its row in the table of readings.
func (r Reading) Kind() schema.Reading {
	kind, _ := schema.FindReading(r.Data.Test)
	return kind
}

// Step is a step entry with the step it names.
type Step struct {
	Entry schema.Entry
	Data  schema.StepData
	Step  procedures.Step
	Known bool
}

// Opening is a fuel joint being opened.
type Opening struct {
	Entry     schema.Entry
	Joint     string
	Pressured bool
	HotOrCut  bool
	ByPart    bool // a part went in or out: its joints were open, said or not
}

// Caution is a caution entry.
type Caution struct {
	Entry schema.Entry
	Data  schema.CautionData
}

// PointEntry is a hold point being closed or re-opened.
type PointEntry struct {
	Entry schema.Entry
	Data  schema.HoldPointData
}

// Confirmation is what a second person signed of an entry.
type Confirmation struct {
	Entry schema.Entry
	Data  schema.ConfirmData
}

// Ack is an acknowledgement.
type Ack struct {
	Entry schema.Entry
	Data  schema.AcknowledgeData
}

// Waiver is a waiver.
type Waiver struct {
	Entry schema.Entry
	Data  schema.WaiveData
}

// Log is a datalog entry.
type Log struct {
	Entry schema.Entry
	Data  schema.DatalogData
}

// SignOff is a sign-off.
type SignOff struct {
	Entry schema.Entry
	Data  schema.SignOffData
}

// Fold reads a history as it stands at the moment. Entries whose data this
// version cannot read are left out; schema validation names them.
func Fold(h History, shop schema.Shop, now time.Time) *Car {
	book, _ := procedures.Load()
	c := &Car{Record: h.Record, Sight: h.Sight, Shop: shop, Now: now, Book: book, Fitted: map[string]Fitted{}, dropped: h.dropped, apart: h.apart, instead: replaced(h.Record)}
	for _, e := range h.Record.Entries {
		if !c.TakenBack(e) {
			c.apply(e)
		}
	}
	kinds := c.Kinds()
	c.todo = sync.OnceValue(func() []procedures.Step { return book.For(kinds) })
	for position, f := range c.Fitted {
		f.Part = c.PartData(f.Data.Part)
		c.Fitted[position] = f
	}
	return c
}

// replaced finds what each entry stands in for that a correction named as the
// right one.
func replaced(r schema.Record) map[string]schema.Entry {
	instead := map[string]schema.Entry{}
	for _, e := range r.Entries {
		if e.Kind != (schema.CorrectData{}).EntryKind() {
			continue
		}
		data, err := schema.Into[schema.CorrectData](e)
		if wrong, ok := r.Entry(data.Entry); err == nil && ok && data.Action == schema.Replace {
			instead[data.By] = wrong
		}
	}
	return instead
}

func (c *Car) apply(e schema.Entry) {
	switch e.Kind {
	case "vehicle":
		with(e, func(d schema.VehicleData) { c.Vehicle = d })
	case "visit":
		with(e, func(d schema.VisitData) { c.visit(e, d) })
	case "plan":
		with(e, func(d schema.PlanData) {
			c.Plan, c.PlanBy = &d, e
			c.Changes = append(c.Changes, Change{e, "plan"})
		})
	case "fit":
		with(e, func(d schema.FitData) { c.fit(e, d) })
	case "remove":
		with(e, func(d schema.RemoveData) {
			delete(c.Fitted, d.Position)
			c.moved(e, d.Position, false)
		})
	case "step":
		with(e, func(d schema.StepData) { c.step(e, d) })
	case "reading":
		with(e, func(d schema.ReadingData) { c.Readings = append(c.Readings, Reading{e, d}) })
	case "caution":
		with(e, func(d schema.CautionData) { c.Cautions = append(c.Cautions, Caution{e, d}) })
	case "holdpoint":
		with(e, func(d schema.HoldPointData) { c.Points = append(c.Points, PointEntry{e, d}) })
	case "confirm":
		with(e, func(d schema.ConfirmData) { c.Confirmations = append(c.Confirmations, Confirmation{e, d}) })
	case "acknowledge":
		with(e, func(d schema.AcknowledgeData) { c.Acks = append(c.Acks, Ack{e, d}) })
	case "waive":
		with(e, func(d schema.WaiveData) { c.Waivers = append(c.Waivers, Waiver{e, d}) })
	case "datalog":
		with(e, func(d schema.DatalogData) {
			c.Logs = append(c.Logs, Log{e, d})
			c.Files = append(c.Files, File{e, "log " + d.File, d.SHA256})
		})
	case "evidence":
		with(e, func(d schema.EvidenceData) {
			c.Evidence = append(c.Evidence, Evidence{e, d})
			c.Files = append(c.Files, File{e, d.What, d.SHA256})
		})
	case "signoff":
		with(e, func(d schema.SignOffData) {
			c.SignOffs = append(c.SignOffs, SignOff{e, d})
			c.Held = nil
		})
	case "hold":
		with(e, func(d schema.HoldData) { // one without findings lifts the last
			c.Held = nil
			if len(d.Findings) > 0 {
				hold := e
				c.Held = &hold
			}
		})
	}
}

// with hands the entry's data to f when it can be read.
func with[T schema.Data](e schema.Entry, f func(T)) {
	if data, err := schema.Into[T](e); err == nil {
		f(data)
	}
}

func (c *Car) visit(e schema.Entry, d schema.VisitData) {
	c.VisitEntries = append(c.VisitEntries, VisitEntry{e, d})
	if d.Action == schema.OpenVisit {
		c.Visits = append(c.Visits, Visit{Entry: e, Data: d})
		c.Visit = &c.Visits[len(c.Visits)-1]
		return
	}
	for i := range c.Visits {
		if c.Visits[i].Data.Visit == d.Visit {
			c.Visits[i].Closed = true
		}
	}
}

func (c *Car) fit(e schema.Entry, d schema.FitData) {
	c.Fitted[d.Position] = Fitted{Entry: e, Data: d}
	c.moved(e, d.Position, d.Opens == schema.Yes)
}

// moved notes that a part went in or out. What fuel wets had its joints open;
// of a place that no table has, nobody knows better than who says so.
func (c *Car) moved(e schema.Entry, position string, said bool) {
	c.Changes = append(c.Changes, Change{e, position})
	if p, known := places.Of(position); said || known && p.Liquid() {
		c.Openings = append(c.Openings, Opening{Entry: e, Joint: position, Pressured: said || p.Side == places.Feed, ByPart: true})
	}
}

func (c *Car) step(e schema.Entry, d schema.StepData) {
	template, known := c.Book.Step(d.Step)
	c.Steps = append(c.Steps, Step{Entry: e, Data: d, Step: template, Known: known})
	if d.State == schema.StepNA || template.Opens == procedures.OpensNothing {
		return
	}
	joint := d.Joint
	if joint == "" {
		joint = unnamedJoint + d.Step
	}
	c.Openings = append(c.Openings, Opening{
		Entry: e, Joint: joint,
		Pressured: template.Opens == procedures.OpensPressure,
		HotOrCut:  template.Opens == procedures.OpensTankCut,
	})
}

// unnamedJoint begins the joint of a step that opened one and does not say which.
const unnamedJoint = "step "

// PartData is the latest description of a part record; nil without one.
func (c *Car) PartData(id string) *schema.PartData {
	if id == "" || c.Shop.Part == nil {
		return nil
	}
	r, ok := c.Shop.Part(id)
	if !ok {
		return nil
	}
	last, ok := LastSaid[schema.PartData](r)
	if !ok {
		return nil
	}
	return &last.Data
}
