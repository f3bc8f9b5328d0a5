package past

import (
	"fmt"
	"math"
	"testing"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/stat"
)

// Invented cars; what must come out is worked out by hand. Tolerances between
// visits: common practice.

var epoch = time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)

const day = 24 * time.Hour

// book writes a record, an entry after another.
type book struct {
	t      *testing.T
	record schema.Record
	at     time.Time
}

func newBook(t *testing.T) *book {
	return &book{t, schema.NewRecord(schema.VehicleRecord, "car"), epoch}
}

func (b *book) on(after time.Duration) *book { b.at = epoch.Add(after); return b }

func (b *book) add(data schema.Data) *book { return b.typed(b.at, data) }

func (b *book) typed(entered time.Time, data schema.Data) *book {
	b.t.Helper()
	e, err := schema.NewEntry(schema.Origin{By: "tech-1", Device: "bay-1", After: schema.Heads(b.record.Entries), Counter: b.record.MaxCounter() + 1, At: b.at, Entered: entered}, data)
	if err != nil {
		b.t.Fatal(err)
	}
	b.record = b.record.With(e)
	return b
}

func (b *book) open(visit string) *book {
	return b.add(schema.VisitData{Action: schema.OpenVisit, Visit: visit})
}

// sign signs off with an envelope that nobody knows.
func (b *book) sign(recheck string) schema.Entry {
	d := schema.SignOffData{Statement: schema.Statement{Person: "lead-1", Recheck: recheck}}
	e := &d.Statement.Envelope
	e.Power.State, e.Manifold.State, e.Speed.State, e.EthanolMin.State = schema.Unknown, schema.Unknown, schema.Unknown, schema.Unknown
	e.EthanolMax.State, e.Altitude.State, e.FuelLevel.State = schema.Unknown, schema.Unknown, schema.Unknown
	b.add(d)
	return b.record.Entries[len(b.record.Entries)-1]
}

func (b *book) fold() *state.Car { return state.Fold(state.Told(b.record), schema.Shop{}, b.at) }

func (b *book) last() string { return b.record.Entries[len(b.record.Entries)-1].ID }

// read adds a reading of name, value and unit in threes.
func (b *book) read(test string, c *schema.Conditions, values ...string) *book {
	d := schema.ReadingData{Test: test, Conditions: c}
	for i := 0; i+2 < len(values); i += 3 {
		d.Values = append(d.Values, schema.Value{Name: values[i], Value: values[i+1], Unit: values[i+2]})
	}
	return b.add(d)
}

// TestLastRelease holds that a visit that was signed off twice left under the
// last sign-off, and a visit without one under none.
func TestLastRelease(t *testing.T) {
	b := newBook(t).open("1")
	b.sign("2026-04-01")
	last := b.sign("2026-05-01")
	got := Visits(b.open("2").fold())
	if len(got) != 2 || got[1].Release != nil {
		t.Fatalf("%d visits, want 2, of which the second is not signed off", len(got))
	}
	if r := got[0].Release; r == nil || r.Entry.ID != last.ID || r.Statement.Recheck != "2026-05-01" {
		t.Errorf("the first left under %+v, want the sign-off with the re-check on 2026-05-01", r)
	}
}

// TestVisits holds that what is written between two visits belongs to the one
// before, and that what was taken back belongs to none.
func TestVisits(t *testing.T) {
	b := newBook(t).add(schema.NoteData{Text: "before the first"}).open("1").add(schema.NoteData{Text: "slip"})
	slip := b.last()
	b.add(schema.CorrectData{Entry: slip, Action: schema.Void, Why: "slip"}).add(schema.VisitData{Action: schema.CloseVisit, Visit: "1"}).
		add(schema.NoteData{Text: "by telephone"}).open("2")
	got := Visits(b.fold())
	if len(got) != 2 || got[0].Close == nil || got[1].Close != nil {
		t.Fatalf("%d visits", len(got))
	}
	var kinds []string
	for _, e := range got[0].Entries {
		kinds = append(kinds, e.Kind)
	}
	if diff := cmp.Diff([]string{"visit", "correct", "visit", "note"}, kinds); diff != "" {
		t.Error(diff)
	}
}

func TestComponents(t *testing.T) {
	b := newBook(t).open("1").add(schema.FitData{Position: "pump", Part: "A"}).add(schema.FitData{Position: "pump 2", Part: "B"})
	b.open("2").add(schema.FitData{Position: "pump", Part: "C"}).add(schema.RemoveData{Position: "pump 2", Why: "noisy"}).add(schema.FitData{Position: "pump", Part: "wrong"})
	b.add(schema.CorrectData{Entry: b.last(), Action: schema.Void, Why: "wrong car"})
	var got []string
	c := b.fold()
	for _, k := range Components(c, Visits(c)) {
		got = append(got, fmt.Sprintf("%s %s in %s, out %v %s in %s", k.Data.Position, k.Data.Part, k.Visit.Number, k.Out != nil, k.Why, k.Leaves.Number))
	}
	want := []string{"pump A in 1, out true another one was fitted in 2", "pump 2 B in 1, out true noisy in 2", "pump C in 2, out false  in "}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// TestCompare takes each limit inside, on and outside.
func TestCompare(t *testing.T) {
	air := func(c string) *schema.Conditions {
		return &schema.Conditions{AirTemp: schema.Write[quantity.Temperature](quantity.Written{Value: c, Unit: "degC"})}
	}
	base := func(v string) []string { return []string{"rail", v, "bar"} }
	flow := func(litres, volts string) []string {
		return []string{"volume", litres, "L", "time", "60", "s", "pressure", "4", "bar", "volts", volts, "V"}
	}
	supply := func(pump, current string) []string {
		return []string{"source", "13.9", "V", "pump", pump, "V", "current", current, "A"}
	}
	down := func(end, minutes string) []string {
		return []string{"start", "3.00", "bar", "end", end, "bar", "time", minutes, "min"}
	}
	for _, c := range []struct {
		name, test    string
		with, then    *schema.Conditions
		before, after []string
		what          string
		beyond        bool
		unlike, alarm bool
	}{
		{name: "inside", test: "base", before: base("3.00"), after: base("3.06"), what: "base pressure"},
		{name: "on it", test: "base", before: base("3.00"), after: base("3.07"), what: "base pressure"},
		{name: "outside", test: "base", before: base("3.00"), after: base("3.08"), what: "base pressure", beyond: true},
		{name: "below", test: "base", before: base("3.00"), after: base("2.92"), what: "base pressure", beyond: true},
		{name: "hose on and off", test: "base", with: &schema.Conditions{Hose: "off"}, then: &schema.Conditions{Hose: "on"}, before: base("3.00"), after: base("2.40"), what: "base pressure", unlike: true},
		{name: "difference under load", test: "load", before: []string{"rail", "4.20", "bar", "manifold", "1.20", "bar gauge"}, after: []string{"rail", "4.10", "bar", "manifold", "1.15", "bar gauge"}, what: "pressure difference under load"},
		{name: "difference under load, absolute", test: "load", before: []string{"rail", "4.20", "bar", "manifold", "221.325", "kPa abs"}, after: []string{"rail", "4.20", "bar", "manifold", "227.325", "kPa abs"}, what: "pressure difference under load", beyond: true},
		{name: "volts on it", test: "supply", before: supply("13.5", "10"), after: supply("13.3", "10"), what: "volts at the pump under load"},
		{name: "volts outside", test: "supply", before: supply("13.5", "10"), after: supply("13.29", "10"), what: "volts at the pump under load", beyond: true},
		{name: "current on it", test: "supply", before: supply("13.5", "10"), after: supply("13.5", "11"), what: "pump current under load"},
		{name: "current outside", test: "supply", before: supply("13.5", "10"), after: supply("13.5", "11.1"), what: "pump current under load", beyond: true},
		{name: "current at other volts", test: "supply", before: supply("13.5", "10"), after: supply("13.2", "12"), what: "pump current under load", unlike: true},
		{name: "flow on it", test: "flow", before: flow("4.00", "13.5"), after: flow("3.80", "13.5"), what: "timed flow"},
		{name: "flow outside", test: "flow", before: flow("4.00", "13.5"), after: flow("3.79", "13.5"), what: "timed flow", beyond: true},
		{name: "flow a tenth less", test: "flow", before: flow("4.00", "13.5"), after: flow("3.60", "13.5"), what: "timed flow", beyond: true, alarm: true},
		{name: "flow at other volts", test: "flow", before: flow("4.00", "13.5"), after: flow("3.00", "12.5"), what: "timed flow", unlike: true},
		{name: "leak-down brought to 5 min", test: "leak-down", before: down("2.90", "5"), after: down("2.50", "10"), what: "lost in 5 min, pump off"},
		{name: "leak-down outside", test: "leak-down", before: down("2.90", "5"), after: down("2.74", "5"), what: "lost in 5 min, pump off", beyond: true},
		{name: "fuel temperature, air not known", test: "fuel temperature", before: []string{"tank", "40", "degC"}, after: []string{"tank", "60", "degC"}, what: "fuel temperature in the tank", unlike: true},
		{name: "fuel temperature", test: "fuel temperature", with: air("20"), then: air("25"), before: []string{"tank", "40", "degC"}, after: []string{"tank", "46", "degC"}, what: "fuel temperature in the tank", beyond: true},
		{name: "filter doubled", test: "filter", before: []string{"drop", "0.06", "bar"}, after: []string{"drop", "0.12", "bar"}, what: "pressure drop of the filter", alarm: true},
		{name: "filter nearly doubled", test: "filter", before: []string{"drop", "0.06", "bar"}, after: []string{"drop", "0.11", "bar"}, what: "pressure drop of the filter"},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBook(t).open("1").read(c.test, c.with, c.before...).open("2").read(c.test, c.then, c.after...)
			visits := Visits(b.fold())
			for _, r := range Compare(visits[0], visits[1]) {
				if r.What != c.what {
					continue
				}
				if r.Beyond != c.beyond || (r.Unlike != "") != c.unlike || (r.Alarm != "") != c.alarm {
					t.Errorf("%+v", r)
				}
				return
			}
			t.Errorf("%s is not compared", c.what)
		})
	}
}

// TestTrend compares the line with the least squares of gonum.
func TestTrend(t *testing.T) {
	b := newBook(t)
	var x, y []float64
	for i, v := range []float64{3.00, 3.04, 2.97, 2.95, 2.99, 2.90} {
		after := time.Duration(i*i) * 71 * day
		b.on(after).open(fmt.Sprint(i)).read("base", nil, "rail", fmt.Sprint(v), "bar")
		x, y = append(x, after.Hours()/24/365.25), append(y, v)
	}
	s, err := Read(b.fold(), "base", "rail")
	if err != nil {
		t.Fatal(err)
	}
	trend, ok := s.Trend()
	at, slope := stat.LinearRegression(x, y, nil, false)
	if !ok || math.Abs(trend.PerYear-slope) > 1e-9 || math.Abs(trend.First-at) > 1e-9 || s.Unit != "bar" {
		t.Errorf("%+v, want %g from %g", trend, slope, at)
	}
	if trend.Drifts {
		t.Error("it went up and down, and drifts")
	}
}

func TestDrift(t *testing.T) {
	for _, c := range []struct {
		values []string
		want   bool
	}{
		{[]string{"3.00", "3.01", "3.02", "3.03"}, true}, {[]string{"3.09", "3.01", "3.00", "2.99"}, true}, {[]string{"3.00", "3.01", "3.02"}, false},
		{[]string{"3.00", "3.01", "3.01", "3.02"}, false}, {[]string{"3.00", "3.01", "3.00", "3.01"}, false}, {[]string{"3.09", "3.00", "3.01", "3.02", "3.03"}, true},
	} {
		b := newBook(t)
		for i, v := range c.values {
			b.on(time.Duration(i)*100*day).open(fmt.Sprint(i)).read("base", nil, "rail", v, "bar")
		}
		s, err := Read(b.fold(), "base", "rail")
		if err != nil {
			t.Fatal(err)
		}
		if trend, ok := s.Trend(); !ok || trend.Drifts != c.want {
			t.Errorf("%v drifts %v, want %v", c.values, trend.Drifts, c.want)
		}
	}
}

// TestNoiseIsNoChange takes four pulls whose rail and manifold pressures rise
// by the same hundredths, so that the difference stays at 3.00 bar: what the
// last binary digits say of it is no fall of "-0.00 bar".
func TestNoiseIsNoChange(t *testing.T) {
	cents := func(n int) string { return fmt.Sprintf("%d.%02d", n/100, n%100) }
	for n := range 24 * 8 {
		step, from := 1+n/8, 50+7*(n%8)
		b := newBook(t)
		for i := range 4 {
			b.on(time.Duration(i)*100*day).open(fmt.Sprint(i+1)).read("load", nil, "rail", cents(300+from+i*step), "bar", "manifold", cents(from+i*step), "bar gauge")
		}
		c := b.fold()
		visits := Visits(c)
		for i := range 3 {
			r := Compare(visits[i], visits[i+1])
			if len(r) != 1 || r[0].Change != "+0.00 bar" {
				t.Errorf("in steps of %d hundredths: %+v", step, r)
			}
		}
	}
}

// TestAlikeIsNoDrift has two pulls of 2.94 bar at the end, of which the last
// is less by its last binary digit alone.
func TestAlikeIsNoDrift(t *testing.T) {
	b := newBook(t)
	for i, v := range [][2]string{{"3.83", "0.86"}, {"3.82", "0.86"}, {"3.74", "0.80"}, {"3.92", "0.98"}} {
		b.on(time.Duration(i)*100*day).open(fmt.Sprint(i)).read("load", nil, "rail", v[0], "bar", "manifold", v[1], "bar gauge")
	}
	s, err := Read(b.fold(), "load", Difference)
	if err != nil {
		t.Fatal(err)
	}
	if trend, ok := s.Trend(); !ok || trend.Drifts {
		t.Errorf("it drifts: %+v", trend)
	}
}

// TestEveryMeasuredValueHasASeries walks the table of readings.
func TestEveryMeasuredValueHasASeries(t *testing.T) {
	n := 0
	for _, test := range schema.Readings {
		for _, name := range Measured(test) {
			n++
			if s, err := Read(newBook(t).fold(), test.Name, name); err != nil || s.Unit == "" {
				t.Errorf("%s %s: unit %q, %v", test.Name, name, s.Unit, err)
			}
		}
	}
	if n < 40 {
		t.Errorf("%d measured values", n)
	}
}

func TestKnownAt(t *testing.T) {
	b := newBook(t).add(schema.NoteData{Text: "at once"}).typed(epoch.Add(day), schema.NoteData{Text: "a day late"})
	for _, c := range []struct {
		after time.Duration
		want  int
	}{{-time.Second, 0}, {0, 1}, {day - time.Second, 1}, {day, 2}} {
		if got := KnownAt(b.record, epoch.Add(c.after)); len(got.Entries) != c.want {
			t.Errorf("%v after: %d entries, want %d", c.after, len(got.Entries), c.want)
		}
	}
}

// A re-check belongs to the release before it, and not to those before that.
func TestRechecked(t *testing.T) {
	b := newBook(t)
	first := b.open("1").sign("2026-04-01")
	second := b.open("2").sign("2026-04-01")
	b.open("3").add(schema.HoldPointData{Point: "HP11", Action: schema.ClosePoint})
	closing := b.last()
	third := b.sign("2026-04-01")
	visits := Visits(b.fold())
	for i, c := range []struct {
		release schema.Entry
		want    bool
	}{{first, false}, {second, true}, {third, false}} {
		got, done := Rechecked(visits, c.release)
		if done != c.want || done && got.ID != closing {
			t.Errorf("after release %d: %v, %s", i+1, done, got.ID)
		}
	}
	story := Tell(b.fold())
	if len(story.SignOffs) != 3 || story.SignOffs[0].Done || !story.SignOffs[1].Done || story.SignOffs[1].DoneOn != "2026-03-02" {
		t.Errorf("told as %+v", story.SignOffs)
	}
}
