package checklist_test

import (
	"math"
	"testing"

	"feedproof/checklist"
	"feedproof/checklist/state"
	"feedproof/schema/quantity"
)

// A change of the plan and the lever of the same name give the same numbers, on
// a car whose lead rounded the outlet pressure up: consumption follows ethanol
// in both, and the reserve stays.
func TestLeverIsWhatIf(t *testing.T) {
	at := func(edits ...edit) *state.Car {
		s := loadBase(t, "clean")
		s.apply(t, append(planSet("/outlet", "4.60", "bar"), edits...)...)
		b := s.build(t)
		return checklist.Assess(b.record, b.shop, b.moment).Car
	}
	onTenPercent := planSet("/engine/consumption_ethanol", "10", "%")[0]
	for lever, edits := range map[string][]edit{
		"ethanol+=75 %":    planSet("/envelope/ethanol_max", "85", "%"),
		"ethanol-=10 %":    planSet("/envelope/ethanol_max", "0", "%"),
		"boost-=0.2 bar":   planSet("/envelope/manifold", "201.325", "kPa abs"),
		"boost+=0.3 bar":   planSet("/envelope/manifold", "251.325", "kPa abs"),
		"base+=0.5 bar":    planSet("/regulator/base", "3.5", "bar"),
		"feed-bore+=25 %":  planSet("/feed/bore", "10.875", "mm"),
		"power+=10 %":      planSet("/envelope/power", "330", "kW"),
		"altitude=1500 m":  planSet("/envelope/altitude", "1500", "m"),
		"feed-length=9 m":  planSet("/feed/length", "9", "m"),
		"temperature-=5 K": planSet("/fuel/temperature", "30", "degC"),
	} {
		now, then := at(onTenPercent), at(append(edits, onTenPercent)...)
		plan := *then.Plan
		then.Plan = &plan
		then.Plan.Outlet = checklist.OutletFor(now, then)
		asked, err := checklist.PlanIf(then)
		if err != nil {
			t.Errorf("%s: %v", lever, err)
			continue
		}
		pulled, err := checklist.PlanIf(now, lever)
		if err != nil {
			t.Errorf("%s: %v", lever, err)
			continue
		}
		before, err := checklist.Plan(now)
		if err != nil {
			t.Fatal(err)
		}
		for what, pair := range map[string][2]float64{
			"demand": {float64(asked.Demand.Volume), float64(pulled.Demand.Volume)}, "outlet": {float64(asked.Pressures.Outlet), float64(pulled.Pressures.Outlet)},
			"margin": {float64(asked.Delivery.Margin), float64(pulled.Delivery.Margin)}, "duty": {float64(asked.Injection.Effective), float64(pulled.Injection.Effective)},
		} {
			if math.Abs(pair[0]/pair[1]-1) > 1e-5 {
				t.Errorf("%s: %s %g by the plan, %g by the lever", lever, what, pair[0], pair[1])
			}
		}
		if before.Delivery.Margin == pulled.Delivery.Margin && before.Injection.Effective == pulled.Injection.Effective {
			t.Errorf("%s: nothing moves", lever)
		}
		if reserve := before.Pressures.Outlet - before.Pressures.Computed; pulled.Pressures.Outlet-pulled.Pressures.Computed < reserve-quantity.Gauge(1) {
			t.Errorf("%s: the lead's reserve shrinks", lever)
		}
	}
}
