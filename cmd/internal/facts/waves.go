package facts

import (
	"fmt"

	"feedproof/checklist"
	"feedproof/checklist/fuel"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// Waves lays out what waves make of the planned rail.
func Waves(w checklist.RailWaves) PlanPage {
	p := PlanPage{Notes: w.Assumed}
	spread := PlanRow{
		Name: "cylinders differ by waves", Value: sharesOf(w.Spread), Limit: "at most " + quantity.Format(fuel.SpreadLimit, "%", 0), Judged: true,
		Note: "soft to stiff feed hose, at " + quantity.Format(w.Speed, "rpm", 0) + "; more than that between cylinders is not waves: injectors, wiring, air",
	}
	if !w.OK() {
		spread.Severity = schema.Flag
	}
	p.Rows = append(p.Rows, spread)
	p.row("the same with a damper of 5 mm3/kPa", sharesOf(w.Damped), "at the rail's inlet")
	least, most := w.Swing.Ends()
	p.row("swing at an injector", fmt.Sprintf("%s (%s to %s)", quantity.Format(w.Swing.Middle, "bar", 2), quantity.Format(least, "bar", 2), quantity.Format(most, "bar", 2)), "peak to peak")
	p.row("fuel lost to waves and line", quantity.Format(w.Lost, "%", 1), "of what an injector gives at a steady pressure")
	p.row("injection frequency", fmt.Sprintf("%.0f Hz", float64(w.Injection)), fmt.Sprintf("of the engine at its highest speed; %d injectors on this rail", w.Injectors))
	for _, a := range w.Aliases {
		if a.Slow(w.Injection) {
			p.row(fmt.Sprintf("in a log of %.0f a second", float64(a.Rate)), fmt.Sprintf("%.1f Hz", float64(a.Shows)), "an alias: it looks like a slow wave, or like an offset near 0 Hz")
		}
	}
	return p
}

func sharesOf(w fuel.WaveRange[quantity.Fraction]) string {
	least, most := w.Ends()
	return fmt.Sprintf("%s (%s to %s)", quantity.Format(w.Middle, "%", 2), quantity.Format(least, "%", 2), quantity.Format(most, "%", 2))
}
