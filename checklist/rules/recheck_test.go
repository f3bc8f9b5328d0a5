package rules

import (
	"encoding/json"
	"fmt"
	"slices"
	"testing"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

var epoch = time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)

// story builds a record, one entry after another.
type story struct {
	t      *testing.T
	record schema.Record
	shop   schema.Shop
}

func tell(t *testing.T) *story {
	return &story{t, schema.NewRecord(schema.VehicleRecord, "car"), schema.Shop{Record: schema.NewRecord(schema.ShopRecord, "shop")}}
}

func (s *story) add(after time.Duration, data schema.Data) *story {
	return s.by("tech-1", "bay-2", after, data)
}

func (s *story) by(person, device string, after time.Duration, data schema.Data) *story {
	s.t.Helper()
	n := int64(len(s.record.Entries) + 1)
	at := epoch.Add(after)
	e, err := s.made(n, schema.Origin{By: person, Device: device, At: at, Entered: at}, data)
	if err != nil {
		s.t.Fatal(err)
	}
	s.record = s.record.With(e)
	return s
}

// made is an entry of who had seen all that stands before a place in the story.
func (s *story) made(place int64, o schema.Origin, data schema.Data) (schema.Entry, error) {
	seen := slices.DeleteFunc(slices.Clone(s.record.Entries), func(e schema.Entry) bool { return e.Counter >= place })
	o.After = schema.Heads(seen)
	o.Counter = schema.NextCounter(seen, o.After)
	return schema.NewEntry(o, data)
}

// at is what a rule says of the story at a moment.
func (s *story) at(after time.Duration, rule string) []schema.Finding {
	s.t.Helper()
	r, ok := Find(rule)
	if !ok {
		s.t.Fatalf("there is no rule %s", rule)
	}
	return r.Judge(state.Fold(state.Told(s.record), s.shop, epoch.Add(after)))
}

func (s *story) wants(after time.Duration, rule string, want schema.Severity) {
	s.t.Helper()
	found := s.at(after, rule)
	worst := schema.OK
	for _, f := range found {
		worst = max(worst, f.Severity)
	}
	if worst != want {
		text, _ := json.Marshal(found)
		s.t.Errorf("%s is %s, want %s: %s", rule, worst, want, text)
	}
	if len(found) == 0 && want > schema.OK {
		s.t.Errorf("%s says nothing", rule)
	}
}

const day = 24 * time.Hour

func km(n float64) schema.Q[quantity.Length] {
	return schema.Write[quantity.Length](quantity.Written{Value: fmt.Sprint(n), Unit: "km"})
}

func visit(action schema.VisitAction, n string, odometer float64) schema.VisitData {
	return schema.VisitData{Action: action, Visit: n, Odometer: km(odometer)}
}

func reading(test string, values ...schema.Value) schema.ReadingData {
	return schema.ReadingData{Test: test, Values: values}
}

// signOff is one whose envelope says nothing.
func signOff() schema.SignOffData {
	var d schema.SignOffData
	e := &d.Statement.Envelope
	e.Power.State, e.Manifold.State, e.Speed.State = schema.Unknown, schema.Unknown, schema.Unknown
	e.EthanolMin.State, e.EthanolMax.State, e.Altitude.State, e.FuelLevel.State = schema.Unknown, schema.Unknown, schema.Unknown, schema.Unknown
	return d
}

func released(t *testing.T) *story {
	return tell(t).add(0, visit(schema.OpenVisit, "1", 1000)).
		add(day, signOff()).add(day, visit(schema.CloseVisit, "1", 1005))
}

func (s *story) back(after time.Duration, distance float64) *story {
	return s.add(day+after, visit(schema.OpenVisit, "2", 1005+distance))
}

func (s *story) rechecked(after time.Duration) *story {
	return s.add(day+after, reading("leak", schema.Value{Name: "rail", Seen: "dry"})).
		add(day+after, schema.HoldPointData{Point: "HP11", Action: schema.ClosePoint})
}

// TestRecheck: T073 and T075 of the trade's scenarios, and both limits inside,
// on and outside. Limits: common practice.
func TestRecheck(t *testing.T) {
	for _, c := range []struct {
		km   float64
		days float64
		want schema.Severity
	}{
		{95, 20, schema.OK}, {210, 20, schema.Flag},
		{159, 20, schema.OK}, {160, 20, schema.OK}, {161, 20, schema.Flag},
		{499, 20, schema.Flag}, {500, 20, schema.Flag}, {501, 20, schema.Hold},
		{80, 20, schema.OK}, {79, 20, schema.Note},
		{100, 29.9, schema.OK}, {100, 30, schema.OK}, {100, 30.1, schema.Flag},
		{100, 89.9, schema.Flag}, {100, 90, schema.Flag}, {100, 90.1, schema.Hold},
	} {
		t.Run(fmt.Sprintf("%g km %g days", c.km, c.days), func(t *testing.T) {
			after := time.Duration(c.days * float64(day))
			released(t).back(after, c.km).rechecked(after).wants(400*day, "L23", c.want)
		})
	}
}

// TestRecheckDistance: which visits say how far the car went. Source: common
// practice.
func TestRecheckDistance(t *testing.T) {
	back := func(km float64) *story { return released(t).back(20*day, km).rechecked(20 * day) }
	unread := func(action schema.VisitAction, n string) schema.VisitData {
		v := visit(action, n, 0)
		v.Odometer = schema.Q[quantity.Length]{State: schema.Unknown}
		return v
	}
	back(100).add(300*day, visit(schema.OpenVisit, "3", 9000)).wants(400*day, "L23", schema.OK) // after the re-check
	back(-200).wants(400*day, "L23", schema.OK)                                                 // it ran backwards: another rule's
	released(t).back(40*day, 50).rechecked(40*day).wants(400*day, "L23", schema.Flag)           // early by km, late by days
	released(t).back(5*day, 50).wants(6*day, "L23", schema.OK)                                  // back, not done yet
	released(t).back(5*day, 100).add(6*day, visit(schema.CloseVisit, "2", 1005+170)).wants(7*day, "L23", schema.Flag)
	released(t).add(5*day, unread(schema.OpenVisit, "2")).rechecked(5*day).wants(6*day, "L23", schema.OK)
	tell(t).add(0, visit(schema.OpenVisit, "1", 1000)).add(day, signOff()).add(day, unread(schema.CloseVisit, "1")).
		back(5*day, 100).rechecked(5*day).wants(7*day, "L23", schema.OK) // from the odometer when it came
	tell(t).add(0, unread(schema.OpenVisit, "1")).add(day, signOff()).add(day, unread(schema.CloseVisit, "1")).
		back(5*day, 9000).rechecked(5*day).wants(7*day, "L23", schema.OK) // nobody knows from where
}

// TestWhatIsNoRecheck: another hold point, HP11 being opened again, and the
// re-check of an earlier release.
func TestWhatIsNoRecheck(t *testing.T) {
	point := func(id string, action schema.PointAction) schema.HoldPointData {
		return schema.HoldPointData{Point: id, Action: action, Why: "as the test says"}
	}
	released(t).back(5*day, 100).add(6*day, point("HP9", schema.ClosePoint)).wants(40*day, "L23", schema.Flag)
	released(t).back(5*day, 100).add(6*day, point("HP11", schema.ReopenPoint)).wants(40*day, "L23", schema.Flag)
	released(t).back(5*day, 100).rechecked(5*day).add(8*day, signOff()).wants(45*day, "L23", schema.Flag)
}

func TestRecheckNotDone(t *testing.T) {
	released(t).wants(31*day, "L23", schema.OK)
	released(t).wants(31*day+time.Hour, "L23", schema.Flag)
	released(t).wants(92*day, "L23", schema.Hold)
	released(t).back(5*day, 170).wants(6*day, "L23", schema.Flag)
	released(t).back(100*day, 170).rechecked(100*day).add(102*day, signOff()).wants(103*day, "L23", schema.OK)
	if found := tell(t).add(0, visit(schema.OpenVisit, "1", 1000)).at(200*day, "L23"); found != nil {
		t.Errorf("a car that was never released: %v", found)
	}
}

func TestEmptyRecheck(t *testing.T) {
	close := schema.HoldPointData{Point: "HP11", Action: schema.ClosePoint}
	released(t).back(3*day, 100).add(4*day, close).wants(5*day, "X15", schema.Flag)
	released(t).back(time.Hour, 90).rechecked(time.Hour).wants(5*day, "X15", schema.Flag)
	released(t).back(3*day, 0).rechecked(3*day).wants(5*day, "X15", schema.Flag)
	released(t).back(3*day, 90).rechecked(3*day).wants(5*day, "X15", schema.OK)
	released(t).back(3*day, 90).wants(5*day, "X15", schema.OK)
}
