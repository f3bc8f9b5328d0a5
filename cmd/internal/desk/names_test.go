package desk

import (
	"strings"
	"testing"
)

type thing struct{ name, plate string }

func (t thing) names() []string { return []string{t.name, t.plate} }

func TestPick(t *testing.T) {
	yard := []thing{{"kestrel", "KT 42"}, {"kestrel-2", "KT 77"}, {"osprey", ""}, {"Old Red", "OR 1"}}
	for _, c := range []struct{ typed, want, says string }{
		{"kestrel", "kestrel", ""},
		{"KESTREL", "kestrel", ""},
		{"kestrel2", "kestrel-2", ""},
		{"kt42", "kestrel", ""},
		{"o-s-p", "osprey", ""},
		{"old", "Old Red", ""},
		{"kest", "", "could be kestrel (KT 42) or kestrel-2 (KT 77)"},
		{"", "", "is not in this shop"},
		{"heron", "", "is not in this shop"},
	} {
		i, err := Pick("car", c.typed, yard, thing.names)
		switch {
		case c.want == "" && (err == nil || !strings.Contains(err.Error(), c.says)):
			t.Errorf("%q: %v, want %q", c.typed, err, c.says)
		case c.want != "" && (err != nil || yard[i].name != c.want):
			t.Errorf("%q: %v %v, want %s", c.typed, i, err, c.want)
		}
	}
}

// Ids that differ in capitals alone are told apart.
func TestPickExact(t *testing.T) {
	ids := []string{"A5", "a5", "B1"}
	for typed, want := range map[string]string{"A5": "A5", "a5": "a5", "b1": "B1"} {
		i, err := PickExact("step", typed, ids, func(s string) string { return s })
		if err != nil || ids[i] != want {
			t.Errorf("%q: %v %v, want %s", typed, i, err, want)
		}
	}
	if _, err := PickExact("step", "A-5", ids, func(s string) string { return s }); err == nil || !strings.Contains(err.Error(), "A5 or a5") {
		t.Errorf("A-5: %v", err)
	}
}
