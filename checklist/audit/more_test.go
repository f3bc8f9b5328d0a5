package audit

import (
	"strings"
	"testing"
	"time"

	"feedproof/schema"
	"feedproof/schema/quantity"

	"github.com/google/go-cmp/cmp"
)

func TestTankCuts(t *testing.T) {
	s := newShop(t)
	paper := schema.CautionData{Caution: "K09", State: schema.CautionMet, Proof: "paper", Certificate: &schema.Certificate{By: "cleaner", Tank: "T-9", At: "2026-03-01T10:00:00Z"}}
	cut := cutStep(t)
	s.car("finch", "F1").open("1", 1, "c").add(paper).read("gas", "", "", "floor=0 %LEL", "tank=0.2 %LEL", "oxygen=20.9 %").on(13 * time.Minute).add(cut)
	s.car("heron", "H2").open("1", 1, "c").read("gas", "", "", "floor=0 %LEL").add(cut)
	rows := s.ask(day, "tank-cuts")
	for i, r := range rows {
		rows[i] = strings.Replace(r, "step "+cut.Step, "STEP", 1)
	}
	same(t, rows, "heron|H2|STEP|2026-03-02T08:00:00Z|tech-1", "finch|F1|STEP|2026-03-02T08:13:00Z|tech-1|13|0.2 %LEL|20.9 %|cleaner T-9 2026-03-01T10:00:00Z")
}

// cutStep is a shipped step that cuts a tank.
func cutStep(t *testing.T) schema.StepData {
	t.Helper()
	for _, s := range bookSteps(t) {
		if s.Opens == "tank cut" {
			return schema.StepData{Step: s.ID, State: schema.StepDone}
		}
	}
	t.Fatal("no shipped step cuts a tank")
	return schema.StepData{}
}

func TestTrend(t *testing.T) {
	s := newShop(t)
	year := time.Duration(365.25 * float64(day))
	c := s.car("finch", "F1")
	for i, rail := range []string{"3.00 bar", "43.9 psi", "3.06 bar", "3.09 bar"} {
		c.on(time.Duration(i)*year).open(string(rune('1'+i)), 1).read("base", "P1", "", "rail="+rail)
	}
	a := s.answer(5*year, "trend", "finch", "base", "rail")
	same(t, s.ask(5*year, "trend", "finch", "base", "rail"),
		"1|2026-03-02T08:00:00Z|tech-1|3.00 bar|3|P1", "2|2027-03-02T14:00:00Z|tech-1|43.9 psi|3.0268|P1",
		"3|2028-03-01T20:00:00Z|tech-1|3.06 bar|3.06|P1", "4|2029-03-02T02:00:00Z|tech-1|3.09 bar|3.09|P1")
	// Least squares by hand over 0, 1, 2, 3 years: (-3*3 - 1*3.0268 + 1*3.06 + 3*3.09) / 10.
	if len(a.Notes) != 1 || !strings.HasPrefix(a.Notes[0], "base rail: +0.0303 bar a year over 3.0 years, from 3 to 3.09; it moved the same way on the last three visits") {
		t.Errorf("notes %q", a.Notes)
	}
	q, _ := Find("trend")
	for _, bad := range [][]string{{"finch", "base"}, {"finch", "base", "nothing"}, {"finch", "leak", "joint"}} {
		if _, err := q.Ask(s, bad, epoch); err == nil {
			t.Errorf("%q is no error", bad)
		}
	}
}

func TestHoses(t *testing.T) {
	s := newShop(t)
	hose := func(id, code string, ethanol schema.Answer) {
		s.part(id, schema.PartData{Part: schema.PartHose, Name: "hose", Ethanol: ethanol, Hose: &schema.HoseData{DateCode: code}})
	}
	hose("OLD", "3Q 2015", schema.Yes)
	hose("NEW", "2025", schema.Yes)
	hose("UNSAID", "2025", "")
	fit := func(part string) schema.FitData { return schema.FitData{Position: "feed line", Part: part} }
	s.car("finch", "F1").add(fit("OLD"))
	s.car("heron", "H2").add(fit("NEW"))
	s.car("swift", "S3").add(planned("85 %")).add(fit("UNSAID"))
	s.car("robin", "R4").add(planned("10 %")).add(fit("UNSAID"))
	s.car("egret", "E5").add(fit("OLD")).add(schema.RemoveData{Position: "feed line", Why: "old"})
	same(t, s.ask(day, "hoses"), "finch|F1|feed line|OLD|3Q 2015|10.2|yes|10 years or older",
		"swift|S3|feed line|UNSAID|2025|0.2||ethanol car, and its papers do not say that it stands it")
	same(t, s.ask(day, "hoses", "11"), "swift|S3|feed line|UNSAID|2025|0.2||ethanol car, and its papers do not say that it stands it")
}

// TestNewRules signs a car off with nothing shown, under an old set: what
// today's rules say of it is new. L06 judges a base pressure without a gauge
// as not proven.
func TestNewRules(t *testing.T) {
	s := newShop(t)
	s.car("finch", "F1").open("1", 1, "b").read("gas", "", "", "floor=7 %LEL").signed("lead-1")
	rows := s.ask(day, "new-rules")
	found := false
	for _, r := range rows {
		if strings.HasPrefix(r, "finch|F1|1|2026-03-02|2020-01|K01 gas in the bay||STOP|14.0 % LEL corrected|below 1 % LEL") {
			found = true
		}
	}
	if !found {
		t.Errorf("K01 is not among what today's rules say: %q", rows)
	}
	same(t, s.ask(day, "new-rules", "heron"))
}

func TestComebacks(t *testing.T) {
	s := newShop(t)
	left := func(id string) *book {
		return s.car(id, "").open("1", 100, "a").add(schema.FitData{Position: "pump", Part: "PUMP-1"}).signed("lead-1").close("1", 101).as("tech-2")
	}
	left("finch").on(30*day).open("2", 701).read("leak", "", "", "pressure=4 bar", "hanger=wet")                              // leak after 600 km
	left("heron").on(20*day).open("2", 201).add(schema.HoldPointData{Point: "HP11", Action: schema.ClosePoint})               // the re-check
	left("swift").on(91*day).open("2", 301)                                                                                   // too long after
	left("robin").on(90*day).open("2", 301)                                                                                   // just in time
	left("egret").on(200 * day).add(schema.VisitData{Action: schema.OpenVisit, Visit: "2", Reason: "Comeback: starts badly"}) // says so
	left("stork")
	a := s.answer(300*day, "comebacks")
	same(t, s.ask(300*day, "comebacks"),
		"finch||1|2026-03-02|2026-04-01|30|600|true|a|tech-1", "robin||1|2026-03-02|2026-05-31|90|200|false|a|tech-1",
		"egret||1|2026-03-02|2026-09-18|200||false|a|tech-1|Comeback: starts badly")
	if len(a.Notes) != 1 || a.Notes[0] != "3 of 6 sign-offs came back (50.0 %)" {
		t.Errorf("notes %q", a.Notes)
	}
	same(t, s.ask(300*day, "comebacks", "technician"), "tech-1|6|3|50|1|600")
	same(t, s.ask(300*day, "comebacks", "job"), "a|6|3|50|1|600")
	same(t, s.ask(300*day, "comebacks", "lot"), "PUMP-1|6|3|50|1|600")
}

func TestReused(t *testing.T) {
	s := newShop(t)
	photo := func(sha string) schema.EvidenceData {
		return schema.EvidenceData{SHA256: strings.Repeat(sha, 64), Bytes: 1, Type: "image/jpeg", What: "hose"}
	}
	s.car("finch", "F1").open("1", 1).add(photo("a")).add(photo("b")).add(photo("b"))
	s.car("heron", "H2").open("1", 1).add(photo("a")).add(photo("c"))
	same(t, s.ask(day, "reused"),
		"finch|F1|1|hose|2026-03-02T08:00:00Z|tech-1|"+strings.Repeat("a", 64)+"|2", "heron|H2|1|hose|2026-03-02T08:00:00Z|tech-1|"+strings.Repeat("a", 64)+"|2")
}

func TestEdits(t *testing.T) {
	s := newShop(t)
	c := s.car("finch", "F1").open("1", 1).read("base", "P1", "", "rail=3 bar")
	reading := c.last
	c.signed("lead-1").as("tech-1").add(schema.NoteData{Text: "handed over"}).add(schema.CorrectData{Entry: reading, Action: schema.Void, Why: "slip"}).
		on(time.Minute).read("base", "P1", "", "rail=3 bar").close("1", 2)
	d := s.car("heron", "H2").open("1", 1).read("base", "P1", "", "rail=3 bar")
	reading = d.last
	d.add(schema.IncidentData{What: "fire in the bay", Severity: "serious", Injury: schema.No}).add(schema.CorrectData{Entry: reading, Action: schema.Void, Why: "slip"})
	e := s.car("swift", "S3").open("1", 1).read("base", "P1", "", "rail=3 bar")
	e.add(schema.CorrectData{Entry: e.last, Action: schema.Void, Why: "slip"}).signed("lead-1") // before the sign-off
	same(t, s.ask(day, "edits"),
		"finch|F1|1|2026-03-02T08:00:00Z|tech-1|correct|void of a reading that was signed off|2026-03-02",
		"finch|F1|1|2026-03-02T08:01:00Z|tech-1|reading|recorded after the sign-off of its visit|2026-03-02",
		"heron|H2|1|2026-03-02T08:00:00Z|tech-1|correct|void of a reading from before the incident|2026-03-02")
}

func TestStops(t *testing.T) {
	s := newShop(t)
	s.car("finch", "F1").open("1", 1, "b").read("gas", "", "", "floor=7 %LEL")
	s.car("heron", "H2").open("1", 1, "b").read("gas", "", "", "floor=7 %LEL").close("1", 1)
	rows := s.ask(3*day, "stops")
	if len(rows) != 1 || !strings.HasPrefix(rows[0], "finch|F1|K01 gas in the bay|14.0 % LEL corrected|3|2026-03-02|") || !strings.HasSuffix(rows[0], "|true") {
		t.Errorf("%q", rows)
	}
}

func TestReceipts(t *testing.T) {
	s := newShop(t)
	got := schema.ReceiptData{Date: "2026-02-20", Quantity: 4}
	s.part("A", schema.PartData{Part: schema.PartPump, Name: "pump A"}).add(got)
	s.part("B", schema.PartData{Part: schema.PartPump, Name: "pump B"})
	s.part("C", schema.PartData{Part: schema.PartPump, Name: "pump C"}).add(got).add(got)
	fit := func(part, why string) schema.FitData {
		return schema.FitData{Position: "pump", Part: part, WhyNone: why}
	}
	s.car("finch", "F1").add(fit("A", "")).add(fit("B", "")).add(fit("Z", "")).add(fit("", "customer's"))
	same(t, s.ask(day, "receipts"),
		"finch|F1|fitted without a part record|||pump|2026-03-02||customer's", "finch|F1|fitted, its record is not in the shop|Z||pump|2026-03-02",
		"finch|F1|fitted, never received|B|pump B|pump|2026-03-02", "||received, never fitted|C|pump C||2026-02-20|8")
}

func TestBump(t *testing.T) {
	s := newShop(t)
	s.gauge("G1")
	s.gauge("G2")
	gas := func(bumped string) schema.ReadingData {
		return schema.ReadingData{Test: "gas", Values: []schema.Value{{Name: "floor", Value: "0", Unit: "% LEL", Gauge: &schema.GaugeSnapshot{Gauge: "G1", Due: "2027-01-01", Bumped: bumped}}}}
	}
	s.car("finch", "F1").open("1", 1).add(gas("2026-03-02T07:59:00Z")).
		on(time.Minute).add(gas("2026-03-01T07:59:00Z")).on(2 * time.Minute).add(gas("")).on(3 * time.Minute).add(gas("2026-03-02T08:04:00Z"))
	same(t, s.ask(day, "bump"),
		"finch|F1|2026-03-02T08:01:00Z|tech-1|G1|2026-03-01T07:59:00Z", "finch|F1|2026-03-02T08:02:00Z|tech-1|G1", "finch|F1|2026-03-02T08:03:00Z|tech-1|G1|2026-03-02T08:04:00Z")
	same(t, s.ask(day, "bump", "g2"))
	q, _ := Find("bump")
	if _, err := q.Ask(s, []string{"G9"}, epoch); err == nil || !strings.Contains(err.Error(), "gauge G9 is not in this shop: G1, G2") {
		t.Errorf("of a meter that is not there: %v", err)
	}
}

// TestFlowRatio has a curve that is flat at 13.5 V and 4 bar: 200 L/h.
func TestFlowRatio(t *testing.T) {
	s := newShop(t)
	var curve []schema.PumpPoint
	for _, p := range [][3]float64{{2, 12, 200}, {4, 12, 180}, {6, 12, 160}, {2, 14, 220}, {4, 14, 200}, {6, 14, 180}} {
		curve = append(curve, schema.PumpPoint{Pressure: written[quantity.Difference](p[0], "bar"), Voltage: written[quantity.Voltage](p[1], "V"), Flow: written[quantity.Flow](p[2], "L/h")})
	}
	s.part("PUMP-1", schema.PartData{Part: schema.PartPump, Name: "pump", Lot: "L1", Pump: &schema.PumpData{Curve: curve, Source: "bench"}})
	flow := []string{"volume=1 L", "time=20 s", "pressure=4 bar", "volts=14 V"} // 180 L/h of 200
	s.car("finch", "F1").open("1", 1).add(schema.FitData{Position: "pump", Part: "PUMP-1"}).read("flow", "P1", "", flow...)
	s.car("heron", "H2").open("1", 1).add(schema.FitData{Position: "pump", Part: "PUMP-1"}).add(schema.FitData{Position: "pump 2", Part: "PUMP-1"}).read("flow", "P1", "", flow...)
	same(t, s.ask(day, "flow-ratio", "l1"), "finch|F1|1|2026-03-02T08:00:00Z|PUMP-1|180|4|14|200|0.9")
	if a := s.answer(day, "flow-ratio", "L1"); len(a.Notes) != 1 || a.Notes[0] != "1 tests, mean 0.900, least 0.900, most 0.900" {
		t.Errorf("notes %q", a.Notes)
	}
}

func TestKnownAt(t *testing.T) {
	s := newShop(t)
	c := s.car("finch", "F1").open("1", 1).signed("lead-1").as("tech-1")
	c.on(time.Hour).typed(epoch.Add(3*day), schema.NoteData{Text: "from memory"}) // happened on the first day, typed on the fourth
	same(t, s.ask(9*day, "known-at", "finch", "2026-03-02"),
		"1|2026-03-02T08:00:00Z|2026-03-02T08:00:00Z|tech-1|vehicle|vehicle", "2|2026-03-02T08:00:00Z|2026-03-02T08:00:00Z|tech-1|visit|visit",
		"3|2026-03-02T08:00:00Z|2026-03-02T08:00:00Z|lead-1|signoff|signoff")
	if got := s.ask(9*day, "known-at", "finch", "2026-03-05T08:00:00Z"); len(got) != 4 {
		t.Errorf("%d entries were known on the fourth day, want 4", len(got))
	}
	a := s.answer(9*day, "known-at", "finch", "release")
	if len(a.Rows) != 2 || len(a.Notes) != 1 || !strings.Contains(a.Notes[0], "their digest is that of the statement") {
		t.Errorf("%d rows, notes %q", len(a.Rows), a.Notes)
	}
}

func TestFind(t *testing.T) {
	s := newShop(t)
	s.car("finch", "KT 42").add(schema.FitData{Position: "pump", Part: "PUMP-9", Serials: []string{"AB-77.1"}}).add(schema.NoteData{Text: "Smells of petrol behind the seat"})
	s.car("heron", "KT 43")
	s.part("PUMP-9", schema.PartData{Part: schema.PartPump, Name: "pump", Lot: "2231-B"})
	for _, c := range []struct{ words, want string }{
		{"kt42", "finch vehicle"}, {"KT 42", "finch vehicle"}, {"kt", "finch vehicle, heron vehicle"}, {"ab771", "finch fit"}, {"AB-77", "finch fit"},
		{"petrol seat", "finch note"}, {"2231-b", "PUMP-9 part"}, {"pump-9", "finch fit, PUMP-9 part"}, {"nothing", ""}, {"petrol 43", ""},
	} {
		var got []string
		for _, r := range s.answer(day, "find", strings.Fields(c.words)...).Rows {
			got = append(got, r.Cells[1].(string)+" "+r.Cells[4].(string))
		}
		if text := strings.Join(got, ", "); text != c.want {
			t.Errorf("find %s: %q, want %q", c.words, text, c.want)
		}
	}
}

// Where a row comes from, asked for again, is the entries it rests on.
func TestFindWhereARowComesFrom(t *testing.T) {
	s := newShop(t)
	s.car("finch", "KT 42").open("1", 1).add(schema.FitData{Position: "pump", Part: "PUMP-9"}).add(schema.RemoveData{Position: "pump", Why: "whines"})
	s.part("PUMP-9", schema.PartData{Part: schema.PartPump, Name: "pump", Lot: "2231-B"})
	row := s.answer(day, "lot", "2231-B").Rows[0]
	var kinds []any
	for _, r := range s.answer(day, "find", append([]string{"vehicle/" + row.Record}, row.Entries...)...).Rows {
		kinds = append(kinds, r.Cells[4])
	}
	if diff := cmp.Diff([]any{"fit", "remove"}, kinds); diff != "" {
		t.Error(diff)
	}
	if a := s.answer(day, "find", row.Entries...); len(a.Rows) != 2 || len(a.Notes) != 0 {
		t.Errorf("without the record: %d rows, notes %q", len(a.Rows), a.Notes)
	}
	if a := s.answer(day, "find", "vehicle/finch"); len(a.Rows) != 4 {
		t.Errorf("%d entries of the whole record, want 4", len(a.Rows))
	}
	if a := s.answer(day, "find", "vehicle/finch", "01BME10PH08M3K312MG4YEFG5G"); len(a.Rows) != 0 || len(a.Notes) != 1 {
		t.Errorf("of an entry that is not there: %d rows, notes %q", len(a.Rows), a.Notes)
	}
}

// A row may rest on the papers of a part beside the car's record: what it comes
// from finds those too.
func TestFindWhatStandsInAPart(t *testing.T) {
	s := newShop(t)
	s.part("HOSE-1", schema.PartData{Part: schema.PartHose, Name: "hose"})
	s.car("finch", "KT 42").add(schema.FitData{Position: "feed line", Part: "HOSE-1"})
	row := s.answer(4000*day, "hoses").Rows[0]
	for _, from := range [][]string{append([]string{"vehicle/" + row.Record}, row.Entries...), row.Entries} {
		a := s.answer(day, "find", from...)
		var where []string
		for _, r := range a.Rows {
			where = append(where, string(r.Kind)+" "+r.Record)
		}
		if diff := cmp.Diff([]string{"vehicle finch", "part HOSE-1"}, where); diff != "" || len(a.Notes) != 0 {
			t.Errorf("find %v: %s, notes %q", from, diff, a.Notes)
		}
	}
}

// The name of a record is a word like another, also where it looks like that
// of an entry.
func TestFindARecordByItsID(t *testing.T) {
	s := newShop(t)
	const id = "01BME10PH08M3K312MG4YEFG5G"
	s.car(id, "KT 42").open("1", 1)
	if a := s.answer(day, "find", id); len(a.Rows) != 2 || len(a.Notes) != 0 {
		t.Errorf("%d rows of 2, notes %q", len(a.Rows), a.Notes)
	}
}

// Screens show the last six characters of a chassis number; they find it.
func TestFindByTheEndOfAChassisNumber(t *testing.T) {
	s := newShop(t)
	b := &book{shop: s, kind: schema.VehicleRecord, id: "finch", by: "tech-1", at: epoch}
	b.add(schema.VehicleData{Name: "finch", VIN: "XFPZZ930Z00000016", Description: "van", RoadUse: schema.Yes, EmissionControlled: schema.No, TankEverFuelled: schema.Yes})
	for _, words := range []string{"000016", "...000016", "xfpzz930z00000016"} {
		if a := s.answer(day, "find", words); len(a.Rows) != 1 {
			t.Errorf("find %s: %d rows of 1", words, len(a.Rows))
		}
	}
}
