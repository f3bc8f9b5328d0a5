package checklist_test

import (
	"strings"
	"testing"

	"feedproof/checklist"
)

// second puts a second rail gauge in the shop and a reading with it after an
// entry: the same as one of the base, at that time.
func second(t helper, s *situation, reading, name, after, at string) {
	t.Helper()
	s.own()
	pg2 := []*compact{}
	for _, c := range *s.gauges["PG1"] {
		pg2 = append(pg2, c.copied())
	}
	s.gauges["PG2"] = &pg2
	c := s.entries[find(t, s.entries, reading)].copied()
	c.Name, c.At = name, at
	for _, v := range c.Data["values"].([]any) {
		if o := v.(map[string]any); o["gauge"] == "PG1" {
			o["gauge"] = "PG2"
		}
	}
	s.apply(t, edit{Add: c, After: after})
}

func foundBad(gauge string) edit {
	return edit{Gauge: gauge, Add: &compact{Name: "found bad", Kind: "check", By: "lead-1", At: "+1615m", Data: map[string]any{"check": "comparison", "result": "bad"}}}
}

// TestBadGaugeReopensWhatRestsOnItAlone: HP6 rests on the reading idle. It is
// opened again when each idle reading that it was closed on is of the gauge
// that was found bad, whether the closing says what it rests on or is older
// than that. Source: common practice.
func TestBadGaugeReopensWhatRestsOnItAlone(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, after, at string // of a reading with the other gauge; none without
		bad             []string
		want            checklist.PointState
	}{
		{"one gauge, bad", "", "", []string{"PG1"}, checklist.PointReopened},
		{"another gauge before it", "stop", "+213m", []string{"PG1"}, checklist.PointClosed},
		{"another gauge read first", "H3", "+200m", []string{"PG1"}, checklist.PointClosed},
		{"both bad", "stop", "+213m", []string{"PG1", "PG2"}, checklist.PointReopened},
		{"another gauge only afterwards", "HP8", "+1510m", []string{"PG1"}, checklist.PointReopened},
		{"the one read afterwards is bad", "HP8", "+1510m", []string{"PG2"}, checklist.PointClosed},
	} {
		for _, written := range []bool{false, true} {
			s := loadBase(t, "clean")
			s.own()
			if c.after != "" {
				second(t, s, "idle", "idle again", c.after, c.at)
			}
			if written {
				says := []any{"H9", "idle"}
				if c.after != "" && c.after != "HP8" {
					says = append(says, "idle-again")
				}
				s.apply(t, edit{Entry: "HP6", Set: map[string]any{"/rests": says}})
			}
			for _, g := range c.bad {
				s.apply(t, foundBad(g))
			}
			b := s.build(t)
			if err := b.validate(s); err != nil && !strings.Contains(err.Error(), "rests") {
				t.Fatal(err) // the names of these entries are no ids of the format
			}
			p := pointOf(t, checklist.Assess(b.record, b.shop, b.moment), "HP6")
			if p.State != c.want {
				t.Errorf("%s, written %v: HP6 is %s (%s), want %s", c.name, written, p.State, p.Why, c.want)
			}
			if p.State == checklist.PointReopened && !strings.Contains(p.Why, "found bad") {
				t.Errorf("%s, written %v: it does not say which gauge: %s", c.name, written, p.Why)
			}
		}
	}
}

// TestWhatAClosingRestsOn: the readings that the point and its rules ask for,
// and its steps; not what was read for another point, nor what is stale.
func TestWhatAClosingRestsOn(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ point, want string }{
		{"HP1", "P4 a1 b1 spread"},
		{"HP2", "gas-as-found B1 B2 gas plug zero gas-again zero-again gas-when-hot"},
		{"HP5", "plan prime base leak leak-down leak-by-another return last-leak"},
		{"HP6", "idle charging-again H8 H9"}, // not idle-as-found: that was before HP5
		{"HP8", "hot-restart J4"},
		{"HP9", "J5 slope-parking J8 last-leak J9"}, // not the leak tests before the road
	} {
		if got := strings.Join(checklist.Rests(assess(t, "clean"), c.point), " "); got != c.want {
			t.Errorf("%s rests on %s, want %s", c.point, got, c.want)
		}
	}
	after := assess(t, "clean", edit{After: "base", Add: &compact{Name: "regulator again", Kind: "fit", By: "tech-1", At: "+131m", Data: map[string]any{"position": "regulator", "part": "regulator-1"}}})
	if got := checklist.Rests(after, "HP5"); contains(got, "base") || !contains(got, "leak") {
		t.Errorf("HP5 rests on a base pressure of another regulator: %v", got)
	}
}
