package state_test

import (
	"testing"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
)

func moment(t *testing.T, text string) time.Time {
	t.Helper()
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// Common practice: a certificate holds through its due date; a meter is bump
// tested before each day's use.
func TestGaugeInOrder(t *testing.T) {
	for _, test := range []struct {
		due, at string
		lapsed  bool
	}{
		{"2026-03-10", "2026-03-09T12:00:00Z", false},
		{"2026-03-10", "2026-03-10T23:59:59Z", false},
		{"2026-03-10", "2026-03-11T00:00:01Z", true},
		{"2026-03-10", "2026-03-11T01:00:00+02:00", false}, // 23:00 UTC of the day before
		{"", "2026-03-09T12:00:00Z", true},
		{"10 March", "2026-03-09T12:00:00Z", true},
	} {
		if got := state.Lapsed(schema.GaugeSnapshot{Due: test.due}, moment(t, test.at)); got != test.lapsed {
			t.Errorf("due %q, read %s: lapsed %v, want %v", test.due, test.at, got, test.lapsed)
		}
	}
	for _, test := range []struct {
		bumped, at string
		want       bool
	}{
		{"2026-03-10T07:00:00Z", "2026-03-10T07:00:00Z", true},
		{"2026-03-10T07:00:00Z", "2026-03-10T23:59:59Z", true},
		{"2026-03-10T07:00:00Z", "2026-03-11T00:00:00Z", false},
		{"2026-03-10T07:00:00Z", "2026-03-10T06:59:59Z", false},      // only after the reading
		{"2026-03-10T01:00:00+02:00", "2026-03-10T12:00:00Z", false}, // 23:00 UTC of the day before
		{"", "2026-03-10T12:00:00Z", false},
		{"2026-03-10", "2026-03-10T12:00:00Z", false},
	} {
		if got := state.Bumped(schema.GaugeSnapshot{Bumped: test.bumped}, moment(t, test.at)); got != test.want {
			t.Errorf("bumped %q, read %s: %v, want %v", test.bumped, test.at, got, test.want)
		}
	}
}
