package checklist_test

import (
	"fmt"
	"strings"
	"testing"

	"feedproof/checklist"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// TestOfferIsTheHighestPowerThatPasses plans what is offered: nothing that
// follows from the power is a FLAG; one kilowatt more, something is. The
// situations are those of the trade's invented examples.
func TestOfferIsTheHighestPowerThatPasses(t *testing.T) {
	planned := func(kW int) []edit { return planSet("/envelope/power", fmt.Sprint(kW), "kW") }
	for _, c := range []struct {
		name  string
		base  string
		edits []edit
		but   string // no power mends this rule
	}{
		{"a margin of 0.98", "clean", planned(480), ""},
		{"duty of 85 %", "clean", planned(390), ""},
		{"low volts, less than those of the flow test", "clean", append(planned(400), change("supply", "source", 12.5, "pump", 12.0)), "L04c"},
		{"wheel power", "clean", append(planned(400), edit{Entry: "plan", Set: map[string]any{"/basis": "wheel", "/loss": map[string]any{"value": "15", "unit": "%"}}}), ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			offer, ok := checklist.Offer(assess(t, c.base, c.edits...).Car)
			if !ok {
				t.Fatal("nothing is offered")
			}
			kW := int(quantity.In(offer, "kW") + 0.5)
			for extra, want := range []bool{false, true} {
				a := assess(t, c.base, append(c.edits, planned(kW+extra)...)...)
				if short := shortOf(a.Findings, c.but); (short != "") != want {
					t.Errorf("%d kW: short of something is %v, want %v:%s", kW+extra, short != "", want, short)
				}
			}
		})
	}
}

// shortOf lists what follows from the power and is a FLAG or more.
func shortOf(found []schema.Finding, but string) string {
	var out []schema.Finding
	for _, f := range found {
		if strings.Contains("L01 L01e L02 L04c L21", f.Rule) && f.Rule != but && f.Severity >= schema.Flag && f.Severity != schema.Unproven {
			out = append(out, f)
		}
	}
	return told(out)
}

// TestNoOffer: nothing is offered where nothing is short, where there is no
// plan, and where no power would pass.
func TestNoOffer(t *testing.T) {
	for name, edits := range map[string][]edit{
		"nothing is short":             nil,
		"no plan":                      {{Entry: "plan", Remove: true}},
		"an open hose proves no power": {{Entry: "flow", Remove: true}},
	} {
		if offer, ok := checklist.Offer(assess(t, "clean", edits...).Car); ok {
			t.Errorf("%s: %s is offered", name, quantity.Text(offer))
		}
	}
}
