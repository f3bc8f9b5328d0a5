package rules

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"feedproof/schema"
	"feedproof/schema/quantity"
)

// typed adds an entry that was typed so long after it happened.
func (s *story) typed(after, later time.Duration, data schema.Data) *story {
	s.t.Helper()
	at := epoch.Add(after)
	e, err := s.made(int64(len(s.record.Entries)+1), schema.Origin{By: "tech-1", Device: "bay-2", At: at, Entered: at.Add(later)}, data)
	if err != nil {
		s.t.Fatal(err)
	}
	s.record = s.record.With(e)
	return s
}

func inFirstVisit(t *testing.T) *story { return tell(t).add(0, visit(schema.OpenVisit, "1", 1)) }

func minutes(name, n string) schema.Value { return schema.Value{Name: name, Value: n, Unit: "min"} }

// TestLeakDownTakesItsTime: the claimed time fits between the pump and the
// reading. Source: common practice.
func TestLeakDownTakesItsTime(t *testing.T) {
	base := reading("base", schema.Value{Name: "rail", Value: "3", Unit: "bar"})
	down := reading("leak-down", minutes("time", "5"))
	ran := func(at time.Duration) *story { return inFirstVisit(t).add(at, base) }
	ran(time.Minute).add(6*time.Minute, down).wants(day, "X01", schema.OK)
	ran(2*time.Minute).add(6*time.Minute, down).wants(day, "X01", schema.Unproven)
	ran(time.Minute).add(5*time.Minute, reading("torque", schema.Value{Name: "torque", Value: "45", Unit: "N.m"})).add(6*time.Minute, down).wants(day, "X01", schema.OK)
	ran(2*time.Minute).typed(6*time.Minute, 11*time.Minute, down).wants(day, "X01", schema.OK) // written late
	slip := down
	slip.Late = "from paper sheet 3"
	ran(2*time.Minute).add(6*time.Minute, slip).wants(day, "X01", schema.OK)
	lateBase := base
	lateBase.Late = "from paper sheet 3"
	inFirstVisit(t).add(2*time.Minute, lateBase).add(6*time.Minute, down).wants(day, "X01", schema.OK)
	ran(time.Minute).add(7*time.Minute, down).add(10*time.Minute, down).wants(day, "X01", schema.Unproven) // the second began after the first
	inFirstVisit(t).add(time.Minute, down).wants(day, "X01", schema.OK)                                    // nobody knows when the pump ran
	second := reading("leak-down", minutes("time", "5"), schema.Value{Name: "end10", Value: "2.8", Unit: "bar"})
	ran(time.Minute).add(11*time.Minute, second).wants(day, "X01", schema.OK)
	ran(2*time.Minute).add(11*time.Minute, second).wants(day, "X01", schema.Unproven)
}

// TestTicks: seven met within five seconds, by one person in this visit.
func TestTicks(t *testing.T) {
	tick := func(s *story, at time.Duration, state schema.CautionState) {
		s.add(at, schema.CautionData{Caution: "K02", State: state, Proof: "bay walked", Why: "nothing burns here"})
	}
	for _, c := range []struct {
		what   string
		n      int
		every  time.Duration
		state  schema.CautionState
		before bool // the visit
		want   schema.Severity
	}{
		{"seven in 4.2 s", 7, 700 * time.Millisecond, schema.CautionMet, false, schema.Flag},
		{"six", 6, 700 * time.Millisecond, schema.CautionMet, false, schema.OK},
		{"seven in 6 s", 7, time.Second, schema.CautionMet, false, schema.OK},
		{"seven that do not apply", 7, 700 * time.Millisecond, schema.CautionNA, false, schema.OK},
		{"seven of an earlier visit", 7, 700 * time.Millisecond, schema.CautionMet, true, schema.OK},
		{"twelve", 12, 100 * time.Millisecond, schema.CautionMet, false, schema.Flag},
	} {
		s := inFirstVisit(t)
		for i := range c.n {
			tick(s, time.Minute+time.Duration(i)*c.every, c.state)
		}
		if c.before {
			s.add(time.Hour, visit(schema.OpenVisit, "2", 1))
		}
		found := s.at(day, "X02")
		if got := len(found) > 0; got != (c.want > schema.OK) || got && (found[0].Severity != c.want || !strings.HasPrefix(found[0].Measured, fmt.Sprint(c.n)+" in")) {
			t.Errorf("%s: %v", c.what, found)
		}
	}
}

// TestOrderOfActs: what cannot have followed. Source: common practice.
func TestOrderOfActs(t *testing.T) {
	fitted := func(at time.Duration, dates ...string) *story {
		s := inFirstVisit(t).add(at, schema.FitData{Position: "pump", Part: "P-1"})
		part := schema.NewRecord(schema.PartRecord, "P-1")
		for i, date := range dates {
			e, err := schema.NewEntry(schema.Origin{By: "stores-1", Device: "office", After: schema.Heads(part.Entries), Counter: int64(i + 1), At: epoch, Entered: epoch}, schema.ReceiptData{Date: date, Quantity: 1, State: "new"})
			if err != nil {
				t.Fatal(err)
			}
			part = part.With(e)
		}
		s.shop.Part = func(id string) (schema.Record, bool) { return part, id == "P-1" }
		return s
	}
	// 2 March 08:00 UTC; the shop's own date may be 3 March (UTC+14), no later.
	fitted(day, "2026-03-03").wants(2*day, "X10", schema.OK)
	fitted(time.Hour, "2026-03-02").wants(2*day, "X10", schema.OK)
	fitted(time.Hour, "2026-03-04").wants(2*day, "X10", schema.Hold)
	fitted(time.Hour, "2026-03-04", "2026-03-01").wants(2*day, "X10", schema.OK) // an earlier lot of the same part
	fitted(time.Hour).wants(2*day, "X10", schema.OK)
	fitted(13*time.Hour+59*time.Minute, "2026-03-03").wants(2*day, "X10", schema.OK)
	fitted(-3*time.Hour, "2026-03-03").wants(2*day, "X10", schema.Hold)
	fitted(-2*time.Hour, "2026-03-02").wants(2*day, "X10", schema.OK)
	fitted(time.Hour, "2026-03-04").add(day, visit(schema.OpenVisit, "2", 1)).wants(2*day, "X10", schema.OK)

	close := func(point string) schema.HoldPointData {
		return schema.HoldPointData{Point: point, Action: schema.ClosePoint}
	}
	inFirstVisit(t).add(time.Hour, close("HP7")).wants(day, "X10", schema.Hold)
	inFirstVisit(t).add(time.Hour, close("HP5")).add(2*time.Hour, close("HP7")).wants(day, "X10", schema.OK)
	inFirstVisit(t).add(time.Hour, schema.HoldPointData{Point: "HP5", Action: "reopen", Why: "x"}).add(2*time.Hour, close("HP7")).wants(day, "X10", schema.Hold)
	inFirstVisit(t).add(time.Hour, close("HP7")).add(2*time.Hour, visit(schema.OpenVisit, "2", 1)).wants(day, "X10", schema.OK)
	inFirstVisit(t).add(time.Hour, close("HP5")).add(2*time.Hour, visit(schema.OpenVisit, "2", 1)).add(3*time.Hour, close("HP7")).wants(day, "X10", schema.Hold)

	plug := func(volts string) schema.ReadingData {
		return reading("plug", schema.Value{Name: "volts", Value: volts, Unit: "V"})
	}
	stall := func(state schema.StepState) schema.StepData {
		return schema.StepData{Step: "B7", State: state, Why: "no pump fuse"}
	}
	dead := func(volts string) *story { return inFirstVisit(t).add(time.Minute, plug(volts)) }
	dead("0.00").add(2*time.Minute, stall(schema.StepDone)).wants(day, "X10", schema.Hold)
	dead("0.10").add(2*time.Minute, stall(schema.StepDone)).wants(day, "X10", schema.Hold)
	dead("0.11").add(2*time.Minute, stall(schema.StepDone)).wants(day, "X10", schema.OK)
	dead("-12.4").add(2*time.Minute, stall(schema.StepDone)).wants(day, "X10", schema.OK) // leads swapped
	inFirstVisit(t).add(time.Minute, reading("plug", schema.Value{Name: "volts", State: schema.NotMeasured, Why: "x"})).add(2*time.Minute, stall(schema.StepDone)).wants(day, "X10", schema.OK)
	dead("0.00").add(2*time.Minute, stall(schema.StepNA)).wants(day, "X10", schema.OK)
	dead("0.00").add(2*time.Minute, reading("prime", schema.Value{Name: "time", Value: "2", Unit: "s"})).add(3*time.Minute, stall(schema.StepDone)).wants(day, "X10", schema.OK)
	dead("0.00").add(2*time.Minute, stall(schema.StepDone)).add(time.Hour, visit(schema.OpenVisit, "2", 1)).wants(day, "X10", schema.OK)
}

// TestEmptyRecheck: closed without driving, or without reading between the
// release and the closing.
func TestRecheckOfNothing(t *testing.T) {
	hp11 := schema.HoldPointData{Point: "HP11", Action: schema.ClosePoint}
	leak := reading("leak", schema.Value{Name: "rail", Seen: "dry"})
	inFirstVisit(t).add(day, leak).add(2*day, hp11).wants(5*day, "X15", schema.OK) // never released: the hold point's own matter
	inFirstVisit(t).add(2*day, hp11).wants(5*day, "X15", schema.OK)
	opened := func(n string) schema.VisitData { return schema.VisitData{Action: schema.OpenVisit, Visit: n} }
	tell(t).add(0, opened("1")).add(day, signOff()).add(3*day, opened("2")).add(4*day, leak).add(5*day, hp11).wants(7*day, "X15", schema.OK) // nobody read the odometer
	released(t).back(3*day, 100).add(4*day, leak).add(5*day, hp11).wants(6*day, "X15", schema.OK)
	released(t).back(3*day, 100).add(5*day, hp11).wants(6*day, "X15", schema.Flag)
	released(t).back(3*day, 100).add(5*day, hp11).add(6*day, leak).wants(7*day, "X15", schema.Flag)
	tell(t).add(0, visit(schema.OpenVisit, "1", 1000)).add(time.Hour, leak).add(day, signOff()).back(3*day, 100).add(5*day, hp11).wants(7*day, "X15", schema.Flag)
	released(t).back(3*day, 0).add(4*day, leak).add(5*day, hp11).wants(7*day, "X15", schema.Flag)
	unread := released(t)
	unread.add(3*day, schema.VisitData{Action: schema.OpenVisit, Visit: "2"}).add(4*day, leak).add(5*day, hp11).wants(7*day, "X15", schema.OK)
}

// TestOverlapOfWhatWasWrittenLate: late by the clock of typing too, and in this
// visit only.
func TestOverlapOfWhatWasWrittenLate(t *testing.T) {
	bond := reading("bond", schema.Value{Name: "resistance", Value: "1", Unit: "ohm"})
	volts := reading("charging", schema.Value{Name: "volts", Value: "14", Unit: "V"})
	fromPaper := volts
	fromPaper.Late = "from paper sheet 3"
	inFirstVisit(t).add(day, volts).by("tech-1", "bay-3", day, bond).wants(2*day, "X25", schema.Flag)
	inFirstVisit(t).add(day, fromPaper).by("tech-1", "bay-3", day, bond).wants(2*day, "X25", schema.OK)
	inFirstVisit(t).typed(day, time.Hour, volts).by("tech-1", "bay-3", day, bond).wants(2*day, "X25", schema.OK)
	inFirstVisit(t).by("tech-1", "bay-3", day, bond).typed(day, time.Hour, volts).wants(2*day, "X25", schema.OK)
	inFirstVisit(t).add(day, volts).by("tech-1", "bay-3", day, bond).add(2*day, visit(schema.OpenVisit, "2", 1)).wants(3*day, "X25", schema.OK)
}

// TestAirOfTheSoak: 15 K and 12 h; what says nothing of the air is not compared.
func TestAirOfTheSoak(t *testing.T) {
	soak := func(test, degrees string) schema.ReadingData {
		r := reading(test, schema.Value{Name: "start", Value: "2", Unit: "s"})
		if degrees != "" {
			r.Conditions = &schema.Conditions{AirTemp: schema.Write[quantity.Temperature](quantity.Written{Value: degrees, Unit: "degC"})}
		}
		return r
	}
	for _, c := range []struct {
		air, beside string
		apart       time.Duration
		want        schema.Severity
	}{
		{"5", "20", time.Hour, schema.OK}, {"5", "20.1", time.Hour, schema.Note}, {"33", "18", time.Hour, schema.OK}, {"33", "17.9", time.Hour, schema.Note},
		{"5", "33", 12 * time.Hour, schema.Note}, {"5", "33", 12*time.Hour + time.Minute, schema.OK},
		{"5", "", time.Hour, schema.OK}, {"", "33", time.Hour, schema.OK},
	} {
		inFirstVisit(t).add(time.Hour, soak("idle", c.beside)).add(time.Hour+c.apart, soak("hot restart", c.air)).wants(2*day, "X28", c.want)
	}
	inFirstVisit(t).add(time.Hour, soak("idle", "33")).wants(2*day, "X28", schema.OK)
}
