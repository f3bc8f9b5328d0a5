package audit

import (
	"strings"
	"testing"
	"time"

	"feedproof/schema"
	"feedproof/schema/quantity"

	"github.com/google/go-cmp/cmp"
)

func same(t *testing.T, got []string, want ...string) {
	t.Helper()
	if want == nil {
		want = []string{}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// TestQuestions holds that Q01 to Q23 are all there, each with a page.
func TestQuestions(t *testing.T) {
	all := All()
	for i, q := range all {
		want := "Q" + string(rune('0'+(i+1)/10)) + string(rune('0'+(i+1)%10))
		if q.ID != want {
			t.Errorf("question %d is %s, want %s", i+1, q.ID, want)
		}
		page := q.Page()
		for _, part := range []string{q.ID, q.Name, q.Title, "How it is answered", q.How} {
			if part == "" || !strings.Contains(page, part) {
				t.Errorf("%s: its page lacks %q", q.ID, part)
			}
		}
		if byID, ok := Find(strings.ToLower(q.ID)); !ok || byID.Name != q.Name {
			t.Errorf("%s is not found by its id", q.ID)
		}
	}
	if len(all) != 23 {
		t.Errorf("%d questions, want 20, find, same-values and wear", len(all))
	}
}

func TestLot(t *testing.T) {
	s := newShop(t)
	s.part("PUMP-1", schema.PartData{Part: schema.PartPump, Name: "pump", Lot: "2231-B"})
	s.part("PUMP-2", schema.PartData{Part: schema.PartPump, Name: "pump", Lot: "2290-A"})
	s.car("finch", "FI 1").open("1", 100).add(schema.FitData{Position: "pump", Part: "PUMP-1"}).
		on(30*day).open("2", 900).add(schema.FitData{Position: "pump", Part: "PUMP-2"})
	s.car("heron", "HE 2").open("1", 50).add(schema.FitData{Position: "pump 2", Part: "PUMP-1", Serials: []string{"S77"}})
	s.car("swift", "SW 3").open("1", 10).add(schema.FitData{Position: "pump", Part: "PUMP-2"}).add(schema.RemoveData{Position: "pump", Why: "noisy"})
	same(t, s.ask(40*day, "lot", "2231-b"),
		"heron|HE 2|pump 2|PUMP-1|S77|2026-03-02|50", "finch|FI 1|pump|PUMP-1|2231-B|2026-03-02|100|2026-04-01|900|another one was fitted")
	same(t, s.ask(40*day, "Q01", "pump-2"), "finch|FI 1|pump|PUMP-2|2290-A|2026-04-01|900", "swift|SW 3|pump|PUMP-2|2290-A|2026-03-02|10|2026-03-02|10|noisy")
	same(t, s.ask(40*day, "lot", "s77"), "heron|HE 2|pump 2|PUMP-1|S77|2026-03-02|50")
	same(t, s.ask(40*day, "lot", "none"))
	for serial, note := range map[string]string{"s77": "written down when the part was fitted", "none": "no part record and no fitting"} {
		if a := s.answer(40*day, "lot", serial); len(a.Notes) != 1 || !strings.Contains(a.Notes[0], note) {
			t.Errorf("lot %s: notes %q", serial, a.Notes)
		}
	}
}

// TestGauges has one reading past the due date, one on it, one between the
// last good check and a bad one, and two after which a good one came first.
func TestGauges(t *testing.T) {
	s := newShop(t)
	s.gauge("P1").add(schema.CalibrationData{Date: "2026-03-02", Due: "2026-03-10"}).
		on(3 * day).add(schema.CheckData{Check: schema.Comparison, Result: schema.Good}).
		on(5 * day).add(schema.CheckData{Check: schema.Comparison, Result: schema.Bad}).
		on(6 * day).add(schema.CalibrationData{Date: "2026-03-08", Due: "2027-03-08"})
	s.gauge("P2").add(schema.CalibrationData{Date: "2026-03-02", Due: "2027-03-02"})
	leak := []string{"pressure=4 bar", "rail inlet=dry"}
	s.car("finch", "F1").open("1", 1).
		on(4*day).read("leak", "P1", "2026-03-10", leak...). // between good and bad
		add(schema.HoldPointData{Point: "HP5", Action: schema.ClosePoint, Second: "tech-2"}).
		on(8*day).read("base", "P1", "2026-03-10", "rail=3 bar"). // on the due date
		on(9*day).read("base", "P1", "2026-03-10", "rail=3 bar"). // the day after
		on(10 * day).signed("lead-1")
	s.car("heron", "H2").open("1", 1).
		on(4*day).read("leak", "P1", "2026-03-10", leak...).
		on(4*day+time.Hour).read("leak", "P2", "2027-03-02", leak...). // in order: the point does not rest on the other alone
		add(schema.HoldPointData{Point: "HP5", Action: schema.ClosePoint, Second: "tech-2"})
	kite := s.car("kite", "K4").open("1", 1).
		on(4*day).read("leak", "P1", "2026-03-10", leak...)
	named := kite.last
	kite.on(4*day+time.Hour).read("leak", "P2", "2027-03-02", leak...). // in order, and the closing does not name it
										add(schema.HoldPointData{Point: "HP5", Action: schema.ClosePoint, Second: "tech-2", Rests: []string{named}})
	s.car("swift", "S3").open("1", 1).on(2*day).read("base", "P1", "2026-03-10", "rail=3 bar") // before the good check
	same(t, s.ask(20*day, "gauges"),
		"finch|F1|1|leak|2026-03-06T08:00:00Z|P1|found bad: comparison bad 2026-03-07|HP5|2026-03-12",
		"heron|H2|1|leak|2026-03-06T08:00:00Z|P1|found bad: comparison bad 2026-03-07",
		"kite|K4|1|leak|2026-03-06T08:00:00Z|P1|found bad: comparison bad 2026-03-07|HP5",
		"finch|F1|1|base|2026-03-11T08:00:00Z|P1|due 2026-03-10||2026-03-12")
	same(t, s.ask(20*day, "gauges", "p2"))
	q, _ := Find("gauges")
	if _, err := q.Ask(s, []string{"P9"}, epoch); err == nil {
		t.Error("a gauge that is not there is no error")
	}
}

func TestSince(t *testing.T) {
	s := newShop(t)
	c := s.car("finch", "F1").open("1", 100).read("base", "P1", "", "rail=3.00 bar").signed("lead-1").close("1", 105)
	same(t, s.ask(day, "since", "finch"))
	c.on(20*day).as("tech-1").add(schema.VisitData{Action: schema.OpenVisit, Visit: "2", Odometer: written[quantity.Length](405, "km"),
		Declared: &schema.Declared{Power: written[quantity.Power](320, "kW"), Ethanol: written[quantity.Fraction](10, "%")}}).
		add(schema.FitData{Position: "filter", Part: "FIL-1"}).read("base", "P1", "", "rail=3.08 bar")
	same(t, s.ask(21*day, "since", "finch"),
		"filter||FIL-1|||changed",
		"declared: power||320 kW|||changed", "declared: ethanol||10 %|||changed",
		"base pressure|3.00 bar|3.08 bar|+0.08 bar|0.07 bar|beyond",
		"again: declared power|||||320 kW, and the envelope ends at 300 kW: plan and test again before it is driven so",
		"again: declared manifold pressure|||||nothing was declared: ask; the envelope ends at 220 kPa abs",
		"again: re-check HP11|||||not done since the release; due 2026-04-02: steps R1 to R7",
		"again: base pressure|||||3.00 bar, then 3.08 bar: more than 0.07 bar apart",
		"again: after the change of filter|||||leak, filter, load")
}

func waive(finding, expires string) schema.WaiveData {
	return schema.WaiveData{Finding: finding, Measured: "3.1 bar", Limit: "3.0 bar", Why: "why", Measure: "slow", Expires: expires, Informed: schema.Yes}
}

func TestWaivers(t *testing.T) {
	s := newShop(t)
	other, again := waive("L10 volts lost", "2026-04-01"), waive("L06 base pressure", "2026-03-09")
	other.Why, again.Why = "the loom is being made", "  Why "
	s.car("finch", "F1").open("1", 1).as("lead-1").add(waive("L06 base pressure", "2026-03-10")).signed("lead-2")
	s.car("heron", "H2").open("1", 1).as("lead-1").add(again).add(other).add(again)
	same(t, s.ask(8*day+15*time.Hour, "waivers"), // 2026-03-10 23:00: the last day still counts
		"finch|F1|1|L06 base pressure|3.1 bar|lead-1|2026-03-02|2026-03-10|active|2026-03-02|yes|3|2",
		"heron|H2|1|L10 volts lost|3.1 bar|lead-1|2026-03-02|2026-04-01|active||yes|1|1",
		"heron|H2|1|L06 base pressure|3.1 bar|lead-1|2026-03-02|2026-03-09|expired||yes|3|2",
		"heron|H2|1|L06 base pressure|3.1 bar|lead-1|2026-03-02|2026-03-09|expired||yes|3|2")
}

func TestRechecks(t *testing.T) {
	s := newShop(t)
	s.car("finch", "F1").open("1", 100).signed("lead-1").close("1", 101)                                                     // due 2026-04-02
	s.car("heron", "H2").open("1", 100).signed("lead-1").close("1", 101).on(10*day).open("2", 262)                           // 161 km
	s.car("swift", "S3").open("1", 100).signed("lead-1").add(schema.HoldPointData{Point: "HP11", Action: schema.ClosePoint}) // done
	s.car("robin", "R4").open("1", 100)                                                                                      // never left
	same(t, s.ask(11*day, "rechecks"), "heron|H2|re-check|2026-04-02|-20|161|1")
	same(t, s.ask(17*day, "rechecks"), "finch|F1|re-check|2026-04-02|-14||1", "heron|H2|re-check|2026-04-02|-14|161|1")
	same(t, s.ask(16*day, "rechecks", "5"), "heron|H2|re-check|2026-04-02|-15|161|1")
	same(t, s.ask(40*day, "rechecks"), "finch|F1|re-check|2026-04-02|9||1", "heron|H2|re-check|2026-04-02|9|161|1")
}

func TestSeasonsEthanol(t *testing.T) {
	s := newShop(t)
	s.car("finch", "F1").add(planned("85 %")).read("ethanol", "", "", "ethanol=80 %")
	s.car("heron", "H2").add(planned("10 %")).read("ethanol", "", "", "ethanol=5 %")
	same(t, s.ask(184*day, "rechecks"), "finch|F1|ethanol reading|2026-09-01|1")
}

func TestLatePoints(t *testing.T) {
	s := newShop(t)
	closing := func(point, late string) schema.HoldPointData {
		return schema.HoldPointData{Point: point, Action: schema.ClosePoint, Late: late}
	}
	opening := schema.FitData{Position: "rail", Part: "R", Opens: schema.Yes}
	s.car("finch", "F1").open("1", 1).add(closing("HP2", "")).add(opening).add(closing("HP2", ""))
	s.car("heron", "H2").open("1", 1).add(opening).add(closing("HP2", ""))
	s.car("swift", "S3").open("1", 1).add(closing("HP0", "from paper sheet 12"))
	same(t, s.ask(day, "late-points"),
		"heron|H2|1|HP2|2026-03-02T08:00:00Z|tech-1||after the opening that it guards", "swift|S3|1|HP0|2026-03-02T08:00:00Z|tech-1||late: from paper sheet 12")
}

func TestOwnWork(t *testing.T) {
	s := newShop(t)
	s.car("finch", "F1").open("1", 1).read("base", "P1", "", "rail=3 bar").signed("lead-1")
	s.car("heron", "H2").open("1", 1).as("lead-1").read("base", "P1", "", "rail=3 bar").as("tech-1").add(schema.StepData{Step: "B1", State: schema.StepDone}).signed("lead-1")
	s.car("swift", "S3").open("1", 1).as("lead-1").add(schema.NoteData{Text: "looked at it"}).signed("lead-1")
	same(t, s.ask(day, "own-work"), "heron|H2|1|2026-03-02|lead-1|lead-1 tech-1")
}

func TestBeyondEnvelope(t *testing.T) {
	s := newShop(t)
	declare := func(id string, d schema.Declared) {
		s.car(id, "").open("1", 1).signed("lead-1").on(day).as("tech-1").add(schema.VisitData{Action: schema.OpenVisit, Visit: "2", Declared: &d})
	}
	declare("finch", schema.Declared{Power: written[quantity.Power](300, "kW"), Boost: written[quantity.Gauge](1.19, "bar")}) // 220.3 kPa
	declare("heron", schema.Declared{Power: written[quantity.Power](301, "kW"), Ethanol: written[quantity.Fraction](12, "%")})
	signedAgain := func(id string, kW float64) { // after 320 kW were declared
		declare(id, schema.Declared{Power: written[quantity.Power](320, "kW")})
		b := &book{shop: s, kind: schema.VehicleRecord, id: id, at: epoch.Add(2 * day)}
		b.signedFor("lead-1", kW)
	}
	signedAgain("kite", 330)
	signedAgain("wren", 300)
	declare("swift", schema.Declared{Power: written[quantity.Power](250, "kW"), Boost: written[quantity.Gauge](1.0, "bar")})
	s.car("robin", "").add(schema.VisitData{Action: schema.OpenVisit, Visit: "1", Declared: &schema.Declared{Power: written[quantity.Power](900, "kW")}}) // no envelope yet
	same(t, s.ask(day, "beyond-envelope"),
		"finch||2|2026-03-03|manifold pressure|220.3 kPa abs|220 kPa abs|2026-03-02",
		"heron||2|2026-03-03|ethanol|12 %|10 %|2026-03-02", "heron||2|2026-03-03|power|301 kW|300 kW|2026-03-02",
		"wren||2|2026-03-03|power|320 kW|300 kW|2026-03-04")
}
