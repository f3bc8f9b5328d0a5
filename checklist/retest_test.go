package checklist_test

import (
	"slices"
	"strings"
	"testing"

	"feedproof/schema"
)

// changedPart is a position and the rules that a part fitted there leaves
// without a reading.
type changedPart struct{ position, void string }

// retestChain says which rules a fitted part leaves without a reading.
var retestChain = []changedPart{
	{"pump", "L06 L07 L08 L10 L10b L11 L14 L15 L16 V-06 X31"},
	{"pump 2", "L06 L07 L08 L10 L10b L11 L14 L15 L16 V-06 X31"},
	{"filter", "L14 L16 V-06 X31"},
	{"regulator", "L05 L06 L07 L14 L15 L26 V-06 X31"},
	{"injectors", "L07 L14 V-06 X31"},
	{"rail", "V-06"},
	{"feed line", "V-06"},
	{"return line", "L15 V-06"},
	{"lift pump", "V-06"},
	{"suction line", "V-06"},
	{"rail link", "V-06"},
	{"carburettor", "V-06"},
	{"surge tank", "V-06 K23"},
	{"damper", "V-06"},
	{"check valve", "V-06"},
	{"wiring", "L08 L10 L10b L11 L14 L25 X31"},
	{"relay", "L08 L10 L10b L11 L14 L25 X31"},
	{"fuse", "L08 L10 L10b L11 L14 L25 X31"},
	{"module", "L30 V-06"},
	{"tank", "L30 V-06 K23"},
	{"vent", "L30"},
	{"rail sensor", "V-06"},
}

// carburettorChain is the same on a carburettor car.
var carburettorChain = []changedPart{
	{"pump", "L08 L10 L10b L11 L14 L15c L16 L17 L31 V-06 X31"},
	{"filter", "L14 L16 L17 L31 V-06 X31"},
	{"regulator", "L14 L15c L31 V-06 X31"},
	{"feed line", "L31 V-06"},
	{"return line", "L15c V-06"},
	{"suction line", "L17 V-06"},
}

// fittedLate fits a part after everything, a loaded log among it.
func fittedLate(position string) []edit {
	data := map[string]any{"position": position, "why_none": "kept from the car"}
	if part := map[string]string{"pump": "pump-1", "injectors": "injectors-1"}[position]; part != "" {
		data = map[string]any{"position": position, "part": part}
	}
	return append(fullPull(), late("fitted", "fit", "tech-1", data))
}

// fullPull is a log in which everything that rules ask for is in order.
func fullPull() []edit {
	return pull(loggedValue("shortfall", "0.02", "bar"), loggedValue("slope", "1", "ratio"), loggedValue("slope span", "150", "kPa"),
		loggedValue("lean", "0.01", "lambda"), loggedValue("rich", "0.01", "lambda"), loggedValue("volts lost", "0.3", "V"),
		loggedValue("pump volts", "13.4", "V"), loggedValue("pump stop", "1", "s"))
}

// ofOpening are the rules that ask for the proofs of an opening, which a part
// that goes in is.
var ofOpening = strings.Fields("K01 K02 K04 K05 K06 K12 K15 K19")

// voids reports that these rules, and no others but those of the opening, are
// UNPROVEN or worse.
func voids(found []schema.Finding, rules string) bool {
	var got []string
	for _, f := range found {
		if f.Severity >= schema.Unproven && !slices.Contains(ofOpening, f.Rule) {
			got = append(got, f.Rule)
		}
	}
	want := strings.Fields(rules)
	slices.Sort(want)
	slices.Sort(got)
	return slices.Equal(got, want)
}

// TestChangedPartVoidsWhatLiesBehindIt fits a part after everything was read,
// timed flow and a loaded log among it: what it touches must be read again, and
// nothing else. Source: common practice.
func TestChangedPartVoidsWhatLiesBehindIt(t *testing.T) {
	for base, chain := range map[string][]changedPart{"clean": retestChain, "carburettor": carburettorChain} {
		for _, c := range chain {
			t.Run(base+"/"+c.position, func(t *testing.T) {
				found := assess(t, base, fittedLate(c.position)...).Findings
				if !voids(found, c.void) {
					t.Errorf("want it to void %s:%s", c.void, told(found))
				}
			})
		}
	}
}

// TestPartTakenOutCounts: what is not there any more was changed too.
func TestPartTakenOutCounts(t *testing.T) {
	a := assess(t, "clean", late("out", "remove", "tech-1", map[string]any{"position": "filter", "why": "to look at it"}))
	got := told(a.Findings)
	for _, want := range []string{"V-06 BLOCK", "L16 UNPROVEN"} {
		if !strings.Contains(got, want) {
			t.Errorf("%s is missing:%s", want, got)
		}
	}
}

// TestNextVisitStartsClosed: what was changed and opened in an earlier visit
// asks for no leak test in the next.
func TestNextVisitStartsClosed(t *testing.T) {
	a := assess(t, "clean", late("visit 2", "visit", "tech-1", map[string]any{"action": "open", "visit": "2", "kinds": []any{"b"}, "reason": "spring check"}))
	for _, f := range a.Findings {
		if f.Rule == "V-06" || f.Rule == "K01" || f.Rule == "K05" || f.Rule == "K20" {
			t.Errorf("an opening of the last visit counts:%s", told([]schema.Finding{f}))
		}
	}
}
