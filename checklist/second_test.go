package checklist_test

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"feedproof/checklist"
	"feedproof/schema"
)

// aloneMan is the clean car in a shop of one person, who made each second check
// alone, so many minutes after the first.
func aloneMan(t helper, minutes int) *situation {
	t.Helper()
	s := loadBase(t, "clean")
	s.own()
	s.shop = slices.DeleteFunc(s.shop, func(c *compact) bool { return c.Kind == "person" && c.Name != "person lead-1" })
	for _, c := range s.entries {
		c.By = "lead-1"
		delete(c.Data, "second")
	}
	later := func(list []*compact, from int) {
		for _, c := range list {
			if n, err := strconv.Atoi(strings.TrimSuffix(strings.TrimPrefix(c.At, "+"), "m")); err == nil && n > from {
				c.At = fmt.Sprintf("+%dm", n+minutes)
			}
		}
	}
	const firstTest, lastTest = 150, 1590
	later(s.entries, firstTest) // the leak by another is that of the same person, so much later
	s.entries[find(t, s.entries, "leak by another")].At = fmt.Sprintf("+%dm", firstTest+minutes)
	again := s.entries[find(t, s.entries, "last leak")].copied()
	again.Name = "last leak again"
	later(s.entries, lastTest+minutes)
	again.At = fmt.Sprintf("+%dm", lastTest+2*minutes)
	s.entries = slices.Insert(s.entries, find(t, s.entries, "HP9"), again)
	for _, list := range s.gauges {
		later(*list, 0)
	}
	s.apply(t, edit{After: "visit", Add: &compact{Name: "rest", Kind: "caution", By: "lead-1", At: "+3m", Data: map[string]any{
		"caution": "K31", "state": "met", "proof": "home between the two tests; the first sheet lay in the safe"}}})
	for _, id := range []string{"HP5", "HP9"} {
		s.apply(t, edit{Entry: id, Set: map[string]any{"/second": "lead-1", "/why": checklist.SamePersonDelayed}})
	}
	s.moment = s.moment.Add(1 << 40)
	return s
}

func pointOf(t helper, a checklist.Assessment, id string) checklist.Point {
	t.Helper()
	i := slices.IndexFunc(a.Points, func(p checklist.Point) bool { return p.ID == id })
	if i < 0 {
		t.Fatalf("%s does not apply", id)
	}
	return a.Points[i]
}

// TestOnePersonAlone: where nobody else works on cars one person may make the
// second check, 12 h after the first, and the record says so. Source: shop
// policy.
func TestOnePersonAlone(t *testing.T) {
	person := func(roles ...any) edit {
		return edit{Shop: true, Add: &compact{Name: "person x-1", Kind: "person", By: "lead-1", At: "-30d", Data: map[string]any{
			"person": "x-1", "name": "Person x-1", "roles": roles, "key": "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAIEEXAMPLE x-1"}}}
	}
	for _, c := range []struct {
		name    string
		minutes int
		edits   []edit
		want    checklist.PointState
		why     string // part of why HP5 is not closed
		sign    string // part of why the car cannot be signed off
	}{
		{"a minute more than 12 h", 721, nil, checklist.PointClosed, "", ""},
		{"12 h", 720, nil, checklist.PointClosed, "", ""},
		{"a minute less", 719, nil, checklist.PointNotProven, "less than 12 h", "HP5: not proven"},
		{"at once", 20, nil, checklist.PointNotProven, "0.3 h apart", "HP9: not proven"},
		{"with a technician in the shop", 720, []edit{person("technician")}, checklist.PointNotProven, "x-1 works here too", "worked on this car"},
		{"with another lead in the shop", 720, []edit{person("lead")}, checklist.PointNotProven, "x-1 works here too", "worked on this car"},
		{"with somebody in the stores", 720, []edit{person("stores")}, checklist.PointClosed, "", ""},
		{"with an apprentice", 720, []edit{person("apprentice")}, checklist.PointClosed, "", ""},
		{"and it does not say so", 720, []edit{{Entry: "HP5", Unset: []string{"/why"}}}, checklist.PointNotProven, "does not say", "HP5: not proven"},
		{"with no second check", 720, []edit{{Entry: "leak by another", Remove: true}}, checklist.PointNotProven, "0.0 h apart", "HP5: not proven"},
		{"with the first check written late", 720, []edit{{Entry: "leak", Set: map[string]any{"/late": "from memory"}}}, checklist.PointNotProven, "0.0 h apart", "HP5: not proven"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s := aloneMan(t, c.minutes)
			s.apply(t, c.edits...)
			b := s.build(t)
			if err := b.validate(s); err != nil {
				t.Fatal(err)
			}
			a := checklist.Assess(b.record, b.shop, b.moment)
			if p := pointOf(t, a, "HP5"); p.State != c.want || !strings.Contains(p.Why, c.why) {
				t.Errorf("HP5 is %s (%s), want %s (%s)", p.State, p.Why, c.want, c.why)
			}
			why := told(checklist.CanSignOff(a, "lead-1"))
			if c.sign == "" && why != "" || !strings.Contains(why, c.sign) {
				t.Errorf("sign-off: want %q, got %s", c.sign, why)
			}
		})
	}
}

// TestNobodyCutsATankAlone: HP3 asks for two, however long one waits.
func TestNobodyCutsATankAlone(t *testing.T) {
	s := aloneMan(t, 720)
	s.apply(t, edit{Entry: "visit", Set: map[string]any{"/kinds": []any{"c"}}})
	b := s.build(t)
	a := checklist.Assess(b.record, b.shop, b.moment)
	for _, second := range []string{"", "lead-1"} {
		if why := told(checklist.CanClose(a, "HP3", "lead-1", second)); !strings.Contains(why, "two persons are asked for") {
			t.Errorf("HP3 with %q: %s", second, why)
		}
	}
	for _, p := range a.Car.Book.Points {
		if p.Alone && p.ID != "HP5" && p.ID != "HP9" {
			t.Errorf("%s may be closed alone", p.ID)
		}
	}
}

// TestClosingAlone asks before the closing: what is refused says what mends it.
func TestClosingAlone(t *testing.T) {
	for _, c := range []struct {
		minutes int
		second  string
		want    string
	}{
		{720, "lead-1", ""},
		{719, "lead-1", "less than 12 h"},
		{720, "", "two persons are asked for"},
	} {
		s := aloneMan(t, c.minutes)
		s.apply(t, edit{Entry: "HP9", Remove: true})
		b := s.build(t)
		found := checklist.CanClose(checklist.Assess(b.record, b.shop, b.moment), "HP9", "lead-1", c.second)
		if why := told(found); c.want == "" && why != "" || !strings.Contains(why, c.want) {
			t.Errorf("%d min, second %q: want %q, got %s", c.minutes, c.second, c.want, why)
		}
		if c.want != "" && !slices.ContainsFunc(found, func(f schema.Finding) bool { return strings.Contains(f.Next, "--delayed") }) {
			t.Errorf("nothing says how to go on alone: %v", found)
		}
	}
}
