package procedures_test

import (
	"slices"
	"testing"

	"feedproof/checklist/procedures"
	"feedproof/schema"
)

func shipped(t *testing.T) procedures.Book {
	t.Helper()
	book, err := procedures.Load()
	if err != nil {
		t.Fatal(err)
	}
	return book
}

// TestLoadReadsTheWholeBook guards against a file that is lost or misplaced:
// the trade's list has 9 kinds of job, hold points 0 to 12, 40 cautions and 40
// faults with two variants;
// the blocks are A to K, and P, R and Y of our own.
func TestLoadReadsTheWholeBook(t *testing.T) {
	book := shipped(t)
	for what, n := range map[string][2]int{
		"jobs": {len(book.Jobs), 9}, "hold points": {len(book.Points), 13},
		"cautions": {len(book.Cautions), 40}, "blocks": {len(book.Blocks), 14}, "faults": {len(book.Faults), 42},
	} {
		if n[0] != n[1] {
			t.Errorf("%d %s, want %d", n[0], what, n[1])
		}
	}
}

// TestForKeepsThePhysicalOrder checks the orderings that cannot be otherwise.
// Common practice: the pump is run dry of pressure while the battery is still
// on, and the filler cap comes off before any joint.
func TestForKeepsThePhysicalOrder(t *testing.T) {
	orders := [][]string{
		{"B3", "B6", "B7", "B8", "B9", "B12"},                  // gas, cap, pressure off, battery off, zero, open
		{"B12", "F5", "F6", "G1", "G4", "G7", "H2"},            // closed, marked, fuel, pump, leak test, start
		{"H2", "H5", "I4", "I6", "J1", "J3", "J5", "J9", "K6"}, // start, idle, load, hot soak, road, last check, release
		{"K6", "R1", "Y1"},                                     // what comes after the release
		{"c3", "c4", "c6", "c7", "c9", "c15", "c17", "c19"},    // depth, gas-free, cut, swarf, to depth, flange, air test, fuel
	}
	all := schema.JobKind("").Values()
	var kinds []schema.JobKind
	for _, k := range all {
		kinds = append(kinds, schema.JobKind(k))
	}
	place := places(t, shipped(t).For(kinds))
	for _, order := range orders {
		for i, id := range order {
			if _, ok := place[id]; !ok {
				t.Fatalf("no step %s", id)
			}
			if i > 0 && place[order[i-1]] >= place[id] {
				t.Errorf("%s comes after %s", order[i-1], id)
			}
		}
	}
}

// TestForHasEachStepOnce: a visit of several kinds does what they share once.
func TestForHasEachStepOnce(t *testing.T) {
	book := shipped(t)
	a, b := book.For([]schema.JobKind{"a"}), book.For([]schema.JobKind{"b"})
	both := book.For([]schema.JobKind{"a", "b"})
	place := places(t, both)
	for _, s := range slices.Concat(a, b) {
		if _, ok := place[s.ID]; !ok {
			t.Errorf("step %s is lost", s.ID)
		}
	}
	if len(both) >= len(a)+len(b) || len(both) <= len(a) || len(both) <= len(b) {
		t.Errorf("%d and %d steps unite to %d", len(a), len(b), len(both))
	}
}

// places is where each step stands; a step that comes twice is an error.
func places(t *testing.T, steps []procedures.Step) map[string]int {
	t.Helper()
	place := map[string]int{}
	for i, s := range steps {
		if _, twice := place[s.ID]; twice {
			t.Errorf("step %s comes twice", s.ID)
		}
		place[s.ID] = i
	}
	return place
}

// TestNobodyWaivesWhatCanKill holds the list that no one may ever waive.
// Common practice; for the tank also 29 CFR 1910.252(a)(3), from memory.
func TestNobodyWaivesWhatCanKill(t *testing.T) {
	book := shipped(t)
	for id, why := range map[string]string{
		"K01": "opening without a gas reading", "K04": "no extinguisher", "K05": "opening under pressure",
		"K06": "battery live with the tank open", "K09": "cutting a used tank", "K13": "a car on a jack alone",
		"K16": "a puncture by a jet", "K20": "a leak that is seen", "K21": "a pump that runs on",
		"K24": "a smell at release", "K26": "the wrong hose in the tank", "K27": "a pump without the right fuse",
		"K28": "an injection pump on a carburettor",
	} {
		if c, ok := book.Caution(id); !ok || c.Waive != "" {
			t.Errorf("%s (%s): waiver %q", id, why, c.Waive)
		}
	}
}

// TestPointsThatCannotBeClosedLate: the physical evidence of these is gone
// afterwards. Common practice.
func TestPointsThatCannotBeClosedLate(t *testing.T) {
	for _, p := range shipped(t).Points {
		want := slices.Contains([]string{"HP2", "HP3", "HP5", "HP9"}, p.ID)
		if p.NeverLate != want {
			t.Errorf("%s: never late %v, want %v", p.ID, p.NeverLate, want)
		}
	}
}
