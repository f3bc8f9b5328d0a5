package rules

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// TestAShopTightensOnly: a shop's own limit counts when it is tighter than that
// of the code, and in the rule's unit. Source: the trade's table of limits says
// who may change one; loosening is nobody's.
func TestAShopTightensOnly(t *testing.T) {
	in := func(value, unit string) *state.Car {
		shop := schema.NewRecord(schema.ShopRecord, "shop")
		e, err := schema.NewEntry(schema.Origin{By: "lead-1", Device: "bay-2", Counter: 1, At: epoch, Entered: epoch}, schema.LimitData{Limit: "L00", Value: value, Unit: unit, Why: "ours"})
		if err != nil {
			t.Fatal(err)
		}
		return state.Fold(state.Told(schema.NewRecord(schema.VehicleRecord, "car")), schema.Shop{Record: shop.With(e)}, epoch)
	}
	most := scale{{0.10 * quantity.Bar, schema.Flag}, {0.20 * quantity.Bar, schema.Hold}}
	for _, c := range []struct {
		value, unit string
		want        float64 // bar
		said        bool
	}{
		{"0.08", "bar", 0.08, true}, {"8", "kPa", 0.08, true}, {"0.10", "bar", 0.10, false}, {"0.12", "bar", 0.10, false},
		{"0", "bar", 0, true}, {"-0.01", "bar", 0.10, false}, {"0.08", "V", 0.10, false}, {"0.08", "", 0.10, false},
	} {
		s, limit := shopScale[quantity.Difference](in(c.value, c.unit), "L00", "ours", most)
		if !nearlyEqual(s[0].above/quantity.Bar, c.want) || strings.Contains(limit, "this shop") != c.said || s[1].above != most[1].above {
			t.Errorf("%s %s: %v %q", c.value, c.unit, s, limit)
		}
	}
	least := floorScale{{1.20, schema.Flag}, {1.10, schema.Hold}}
	for _, c := range []struct {
		value, unit string
		want        float64
		said        bool
	}{
		{"1.25", "ratio", 1.25, true}, {"1.25", "", 1.25, true}, {"125", "%", 1.25, true}, {"1.20", "", 1.20, false}, {"1.15", "", 1.20, false}, {"1.25", "V", 1.20, false},
	} {
		s, limit := shopFloor[quantity.Fraction](in(c.value, c.unit), "L00", "ours", least)
		if !nearlyEqual(s[0].above, c.want) || strings.Contains(limit, "this shop") != c.said || s[1].above != 1.10 {
			t.Errorf("%s %s: %v %q", c.value, c.unit, s, limit)
		}
	}
	if _, limit := shopScale[quantity.Difference](in("0.08", "bar"), "L01", "ours", most); strings.Contains(limit, "this shop") {
		t.Errorf("another rule's limit: %q", limit)
	}
}

func nearlyEqual(a, b float64) bool { return a-b < 1e-9 && b-a < 1e-9 }

// TestOwnLimits: what a shop writes is tighter, in a unit, of a rule that has
// such a limit, or it is told why it has no effect. Limits: the rules' own pages.
func TestOwnLimits(t *testing.T) {
	for _, c := range []struct{ limit, value, unit, want, refused string }{
		{"L06", "0.05", "bar", "at most 0.05 bar in place of 0.07 bar", ""},
		{"l10B", "13.2", "V", "at least 13.2 V in place of 13.00 V", ""},
		{"L13", "45", "degC", "at most 45 degC in place of 50.0 degC", ""},
		{"L01", "125", "%", "at least 125 % in place of 120.0 %", ""},
		{"L01", "1.25", "", "at least 1.25 in place of 120.0 %", ""},
		{"L06", "0.07", "bar", "the program's own at most 0.07 bar again", ""},
		{"L06", "0.5", "bar", "", "0.5 bar is looser than the program's at most 0.07 bar, which no shop may loosen"},
		{"L01", "1.1", "ratio", "", "1.1 ratio is looser than the program's at least 120.0 %"},
		{"L17", "-5", "kPa", "", "-5 kPa is below nothing"},
		{"L06", "0.05", "V", "", "V"},
		{"L06", "0.05", "", "", "unit"},
		{"K26", "1", "bar", "", "its limits are fixed"},
		{"FOO", "3", "bar", "", "there is no such rule"},
	} {
		got, err := Own(schema.LimitData{Limit: c.limit, Value: c.value, Unit: c.unit})
		if got != c.want || (err != nil) != (c.refused != "") || err != nil && !strings.Contains(err.Error(), c.refused) {
			t.Errorf("%s %s %s: %q, %v", c.limit, c.value, c.unit, got, err)
		}
	}
}

// TestTightenedLimitsAreAsked holds that a rule names what a shop may tighten
// if, and only if, its file asks for it.
func TestTightenedLimitsAreAsked(t *testing.T) {
	files, err := filepath.Glob("[lx]*_*.go")
	if err != nil || len(files) == 0 {
		t.Fatal("no rules", err)
	}
	id, asks, names := regexp.MustCompile(`\bID: "(\w+)"`), regexp.MustCompile(`shop(Scale|Floor)\[|bounded\[|judgeMargin\(`), regexp.MustCompile(`\bShop: `)
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if m := id.FindSubmatch(text); m != nil && !strings.HasSuffix(file, "_test.go") && asks.Match(text) != names.Match(text) {
			t.Errorf("%s: rule %s asks for the shop's limit: %v, names it: %v", file, m[1], asks.Match(text), names.Match(text))
		}
	}
	if len(Tightened()) == 0 {
		t.Error("no rule can be tightened")
	}
}
