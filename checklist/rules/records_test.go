package rules

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"feedproof/schema"
	"feedproof/schema/quantity"
)

func photo(hash string) schema.EvidenceData {
	return schema.EvidenceData{SHA256: strings.Repeat(hash, 32), Bytes: 1, Type: "image/jpeg", What: "photo of the rail"}
}

// TestEvidenceUsedAgain: the same file in two visits proves nothing; twice in
// one visit it may show two things.
func TestEvidenceUsedAgain(t *testing.T) {
	first := func() *story { return tell(t).add(0, visit(schema.OpenVisit, "1", 1)).add(time.Hour, photo("a1")) }
	first().add(2*time.Hour, photo("a1")).wants(day, "X05", schema.OK)
	first().add(day, visit(schema.OpenVisit, "2", 2)).add(day, photo("a1")).wants(2*day, "X05", schema.Unproven)
	first().add(day, visit(schema.OpenVisit, "2", 2)).add(day, photo("b2")).wants(2*day, "X05", schema.OK)
	log := schema.DatalogData{File: "run.csv", SHA256: strings.Repeat("a1", 32), Run: "pull", Mapping: []schema.ChannelMap{}}
	first().add(day, visit(schema.OpenVisit, "2", 2)).add(day, log).wants(2*day, "X05", schema.Unproven)
}

// voltsRead are so many readings of a meter that shows 0.01 V.
func voltsRead(t *testing.T, values []string, division string) *story {
	s := tell(t).add(0, visit(schema.OpenVisit, "1", 1))
	gauge := &schema.GaugeSnapshot{Gauge: "DM1", Resolution: quantity.Written{Value: division, Unit: "V"}}
	for i, v := range values {
		s.add(time.Duration(i+1)*time.Hour, reading("charging", schema.Value{Name: "volts", Value: v, Unit: "V", Gauge: gauge}))
	}
	return s
}

// TestLastDigits: a note from 20 values on, when all end in 0 or 5 and the
// meter shows single steps.
func TestLastDigits(t *testing.T) {
	var round []string
	for i := range 20 {
		round = append(round, fmt.Sprintf("13.%02d", 5*i))
	}
	voltsRead(t, round, "0.01").wants(10*day, "X03", schema.Note)
	for name, s := range map[string]*story{
		"19 values":       voltsRead(t, round[:19], "0.01"),
		"one other digit": voltsRead(t, append([]string{"13.41"}, round...), "0.01"),
		"coarse meter":    voltsRead(t, round, "0.05"),
	} {
		if found := s.at(10*day, "X03"); found != nil {
			t.Errorf("%s: %v", name, found)
		}
	}
}

func TestVisitsRunForward(t *testing.T) {
	two := func(at time.Duration, km float64) *story {
		return tell(t).add(10*day, visit(schema.OpenVisit, "1", 1000)).add(11*day, visit(schema.CloseVisit, "1", 1005)).add(at, visit(schema.OpenVisit, "2", km))
	}
	two(20*day, 1005).wants(30*day, "X09", schema.OK)
	two(20*day, 1004).wants(30*day, "X09", schema.Flag)
	two(9*day, 1006).wants(30*day, "X09", schema.Flag)
	s := two(20*day, 104)
	wrong := s.record.Entries[2].ID
	s.add(21*day, schema.CorrectData{Entry: wrong, Action: schema.Void, Why: "a digit was lost"}).wants(30*day, "X09", schema.OK)
}

// TestClocks: 2 min on one device, 5 min between two; on the limit is inside.
func TestClocks(t *testing.T) {
	note := func(back time.Duration, device string) *story {
		return tell(t).add(0, visit(schema.OpenVisit, "1", 1)).by("tech-1", "bay-2", day, schema.NoteData{Text: "one"}).by("tech-1", device, day-back, schema.NoteData{Text: "two"})
	}
	for _, c := range []struct {
		back   time.Duration
		device string
		want   schema.Severity
	}{
		{119 * time.Second, "bay-2", schema.OK}, {120 * time.Second, "bay-2", schema.OK}, {121 * time.Second, "bay-2", schema.Note},
		{299 * time.Second, "bay-3", schema.OK}, {300 * time.Second, "bay-3", schema.OK}, {301 * time.Second, "bay-3", schema.Note},
	} {
		note(c.back, c.device).wants(2*day, "X17", c.want)
	}
}

// TestOverlap: within a minute on two devices; late entries are not compared.
func TestOverlap(t *testing.T) {
	pair := func(apart time.Duration, device, person, late string) *story {
		second := reading("bond", schema.Value{Name: "resistance", Value: "1", Unit: "ohm"})
		second.Late = late
		return tell(t).add(0, visit(schema.OpenVisit, "1", 1)).
			add(day, reading("charging", schema.Value{Name: "volts", Value: "14", Unit: "V"})).by(person, device, day+apart, second)
	}
	pair(59*time.Second, "bay-3", "tech-1", "").wants(2*day, "X25", schema.Flag)
	pair(-59*time.Second, "bay-3", "tech-1", "").wants(2*day, "X25", schema.Flag)
	pair(60*time.Second, "bay-3", "tech-1", "").wants(2*day, "X25", schema.OK)
	pair(0, "bay-2", "tech-1", "").wants(2*day, "X25", schema.OK)
	pair(0, "bay-3", "tech-2", "").wants(2*day, "X25", schema.OK)
	pair(0, "bay-3", "tech-1", "from paper sheet 3").wants(2*day, "X25", schema.OK)
}

// TestPressureClass: an injection pump on a carburettor is refused unless the
// inlet was read and is held down; an unknown pump is not proven.
func TestPressureClass(t *testing.T) {
	s := func() *story {
		return tell(t).add(0, schema.VehicleData{Name: "x", Description: "x", FuelSystem: "carburettor"}).add(0, visit(schema.OpenVisit, "1", 1))
	}
	s().wants(day, "K28", schema.Unproven)
	injected := tell(t).add(0, schema.VehicleData{Name: "x", Description: "x", FuelSystem: "port injection"}).add(0, visit(schema.OpenVisit, "1", 1))
	injected.wants(day, "K28", schema.OK)
	converted := tell(t).add(0, schema.VehicleData{Name: "x", Description: "x", FuelSystem: "port injection"})
	to := visit(schema.OpenVisit, "1", 1)
	to.Kinds = []schema.JobKind{"h"}
	converted.add(0, to).wants(day, "K28", schema.Unproven)
}
