package rules

import (
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
