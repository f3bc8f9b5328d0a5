package state

import (
	"maps"
	"slices"
	"strings"

	"feedproof/checklist/procedures"
	"feedproof/schema"
	"feedproof/schema/places"
	"feedproof/schema/quantity"
)

// InVisit reports that an entry belongs to the visit that is open or was last.
func (c *Car) InVisit(e schema.Entry) bool {
	return c.Visit == nil || schema.Order(e, c.Visit.Entry) >= 0
}

// Between reports that an entry came after one and before another, or may have
// where bays had not seen each other.
func (c *Car) Between(e, from, to schema.Entry) bool {
	if schema.Order(e, from) > 0 && schema.Order(e, to) < 0 {
		return true
	}
	return c.apart && e.ID != from.ID && e.ID != to.ID && !c.Sight.Saw(from.ID, e.ID) && !c.Sight.Saw(e.ID, to.ID)
}

// Kinds are the job kinds of the visit.
func (c *Car) Kinds() []schema.JobKind {
	if c.Visit == nil {
		return nil
	}
	return c.Visit.Data.Kinds
}

// Todo lists the steps of the visit's jobs, whether or not they apply.
func (c *Car) Todo() []procedures.Step { return slices.Clip(c.todo()) }

// Looking reports a visit in which a released car is only looked at, for its
// re-check or its yearly check: one of no job kind, in which nothing was opened,
// fitted, taken out or planned. What its release showed still stands.
func (c *Car) Looking() bool {
	if c.Visit == nil || len(c.Kinds()) > 0 || len(c.SignOffs) == 0 || c.InVisit(c.SignOffs[0].Entry) || len(c.VisitOpenings()) > 0 {
		return false
	}
	return !slices.ContainsFunc(c.Changes, func(ch Change) bool { return c.InVisit(ch.Entry) })
}

// Rechecked reports that the re-check after the last release was closed before
// this visit.
func (c *Car) Rechecked() bool {
	return slices.ContainsFunc(c.Points, func(p PointEntry) bool {
		return p.Data.Point == "HP11" && p.Data.Action == schema.ClosePoint && !c.InVisit(p.Entry) &&
			len(c.SignOffs) > 0 && schema.Order(p.Entry, c.SignOffs[len(c.SignOffs)-1].Entry) > 0
	})
}

// Has reports that the visit includes one of the job kinds.
func (c *Car) Has(kinds ...schema.JobKind) bool {
	return slices.ContainsFunc(kinds, func(k schema.JobKind) bool { return slices.Contains(c.Kinds(), k) })
}

// Last finds the last reading of a test in this visit.
func (c *Car) Last(test string) (Reading, bool) {
	for i := len(c.Readings) - 1; i >= 0; i-- {
		if r := c.Readings[i]; r.Data.Test == test && c.InVisit(r.Entry) {
			return r, true
		}
	}
	return Reading{}, false
}

// LastAtLoad finds the last reading of a test in this visit that nobody says was
// made at idle or with the engine off.
func (c *Car) LastAtLoad(test string) (Reading, bool) {
	for _, r := range slices.Backward(c.All(test)) {
		if r.Data.Conditions == nil || r.Data.Conditions.Engine == "" || r.Data.Conditions.Engine == "load" {
			return r, true
		}
	}
	return Reading{}, false
}

// All lists the readings of a test in this visit, in order.
func (c *Car) All(test string) []Reading {
	var out []Reading
	for _, r := range c.Readings {
		if r.Data.Test == test && c.InVisit(r.Entry) {
			out = append(out, r)
		}
	}
	return out
}

// Value finds a value of the reading by name.
func (r Reading) Value(name string) (schema.Value, bool) {
	for _, v := range r.Data.Values {
		if v.Name == name {
			return v, v.State == ""
		}
	}
	return schema.Value{}, false
}

// Values lists the values of that name, in order.
func (r Reading) Values(name string) []schema.Value {
	var out []schema.Value
	for _, v := range r.Data.Values {
		if v.Name == name && v.State == "" {
			out = append(out, v)
		}
	}
	return out
}

// ChangedAfter finds the last change of one of the positions after an entry.
// A numbered position counts with its kind, "pump 2" with "pump", and relay and
// fuse with the wiring.
func (c *Car) ChangedAfter(e schema.Entry, positions ...string) (Change, bool) {
	for i := len(c.Changes) - 1; i >= 0; i-- {
		ch := c.Changes[i]
		if schema.Order(ch.Entry, e) > 0 && slices.ContainsFunc(positions, ch.of) {
			return ch, true
		}
	}
	return Change{}, false
}

// OpenedAfter finds the last opening after an entry.
func (c *Car) OpenedAfter(e schema.Entry) (Opening, bool) {
	for i := len(c.Openings) - 1; i >= 0; i-- {
		if schema.Order(c.Openings[i].Entry, e) > 0 {
			return c.Openings[i], true
		}
	}
	return Opening{}, false
}

// VisitOpenings lists the openings of this visit, in order.
func (c *Car) VisitOpenings() []Opening {
	var out []Opening
	for _, o := range c.Openings {
		if c.InVisit(o.Entry) {
			out = append(out, o)
		}
	}
	return out
}

// FuelOpen reports that a joint was opened in this visit and that no leak test
// has shown it dry since: the screens say FUEL OPEN until one does.
func (c *Car) FuelOpen() bool {
	return slices.ContainsFunc(c.Untested(), func(o Opening) bool { return c.InVisit(o.Entry) })
}

// Untested are the openings, of any visit, whose joint no later leak test has
// shown dry.
func (c *Car) Untested() []Opening {
	return slices.DeleteFunc(slices.Clone(c.Openings), func(o Opening) bool { return c.ShownDry(o.Joint, o.Entry) })
}

// ShownDry reports that a leak test later than an entry found a joint dry, or
// what stands for it. An opening that names no joint is shown by any leak test.
func (c *Car) ShownDry(joint string, since schema.Entry) bool {
	return slices.ContainsFunc(c.Readings, func(r Reading) bool {
		return r.TestsJoints() && schema.Order(r.Entry, since) > 0 && (r.Shows(joint) || strings.HasPrefix(joint, unnamedJoint))
	})
}

// TestsJoints reports a leak test, or for a bowl the needle test: no other looks
// at joints.
func (r Reading) TestsJoints() bool { return r.Data.Test == "leak" || r.Data.Test == "needle" }

// Shows reports that the reading found a joint dry, or what stands for it.
func (r Reading) Shows(joint string) bool { return places.Shows(r.dry(), places.Joint(joint)) }

// Names reports that the reading found just this joint dry, or its place.
func (r Reading) Names(joint string) bool { return places.Names(r.dry(), places.Joint(joint)) }

// dry are the joints that a reading found dry.
func (r Reading) dry() []string {
	var out []string
	for _, v := range r.Data.Values {
		if v.Seen == "dry" {
			out = append(out, places.Joint(v.Name))
		}
	}
	return out
}

// What says what became of the joint.
func (o Opening) What() string {
	if o.ByPart {
		return "changed"
	}
	return "was opened"
}

// ToProve are the openings of this visit that ask for their proofs: each that
// was typed, and a part that went in or out with nothing typed as opened since
// the last leak test.
func (c *Car) ToProve() []Opening {
	var out []Opening
	var typed *Opening
	for _, o := range c.VisitOpenings() {
		if typed != nil && slices.ContainsFunc(c.All("leak"), func(r Reading) bool { return c.Between(r.Entry, typed.Entry, o.Entry) }) {
			typed = nil
		}
		if o.ByPart && typed != nil {
			continue
		}
		out, typed = append(out, o), &o
	}
	return out
}

// Confirmed is the first confirmation of an entry by somebody else who works on
// cars and had seen it. Of an entry that was mended, one of the slip counts not.
func (c *Car) Confirmed(e schema.Entry) (Confirmation, bool) {
	i := slices.IndexFunc(c.Confirmations, func(s Confirmation) bool {
		p, known := c.Person(s.Entry.By)
		return s.Data.Entry == e.ID && s.Entry.By != e.By && known && HandsOn(p) && c.Sight.Saw(s.Entry.ID, e.ID)
	})
	if i < 0 {
		return Confirmation{}, false
	}
	return c.Confirmations[i], true
}

// IsWork reports an entry of what was done to a car, read on it, or confirmed as
// the second person.
func IsWork(e schema.Entry) bool {
	return slices.Contains([]string{"step", "fit", "remove", "reading", "datalog", "confirm"}, e.Kind)
}

// Workers lists who did work on the car in this visit: who wrote steps,
// fittings, removals, readings and logs, who was the second person or confirmed,
// and who put them into the record.
func (c *Car) Workers() []string {
	var out []string
	add := func(id string) {
		if id != "" && !slices.Contains(out, id) {
			out = append(out, id)
		}
	}
	for _, e := range c.Record.Entries {
		if !c.InVisit(e) {
			continue
		}
		if IsWork(e) {
			add(e.By)
		}
		add(second(e))
	}
	for _, id := range c.Shop.Committers {
		add(id)
	}
	return out
}

// second is the second person that an entry names.
func second(e schema.Entry) (id string) {
	switch e.Kind {
	case "step":
		with(e, func(d schema.StepData) { id = d.Second })
	case "reading":
		with(e, func(d schema.ReadingData) { id = d.Second })
	case "holdpoint":
		with(e, func(d schema.HoldPointData) { id = d.Second })
	}
	return id
}

// Pumps lists the pumps that are fitted, in the order of their positions.
func (c *Car) Pumps() []Fitted {
	var pumps []Fitted
	for _, position := range slices.Sorted(maps.Keys(c.Fitted)) {
		if kind := Unnumbered(position); kind == "pump" || kind == "lift pump" {
			pumps = append(pumps, c.Fitted[position])
		}
	}
	return pumps
}

// Unnumbered is the place of a position, whichever of several it is: "pump" of
// "pump 2" and of "pump left". Of a position that no table has it is the words.
func Unnumbered(position string) string {
	if p, known := places.Of(position); known {
		return p.Name
	}
	return strings.TrimRight(position, " 0123456789")
}

// Base is the base pressure of the plan.
func (c *Car) Base() (quantity.Difference, bool) {
	if c.Plan == nil || c.Plan.Regulator == nil {
		return 0, false
	}
	base, err := c.Plan.Regulator.Base.SI()
	return base, err == nil
}

// MayReference reports that the regulator follows the manifold, or that nobody
// has said that it does not.
func (c *Car) MayReference() bool {
	return c.Plan == nil || c.Plan.Regulator == nil || c.Plan.Regulator.Kind == schema.Referenced
}

// BoostRatio is how many times the boost the plan's regulator adds to its base:
// 1, unless the plan declares a rising rate. Below the barometer it is always 1.
func (c *Car) BoostRatio() float64 {
	if c.Plan == nil || c.Plan.Regulator == nil {
		return 1
	}
	if declared := c.Plan.Regulator.Ratio.Or(0); declared > 0 {
		return float64(declared)
	}
	return 1
}
