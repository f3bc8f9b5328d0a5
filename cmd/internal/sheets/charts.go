package sheets

import (
	"fmt"

	"feedproof/checklist/fuel"
	"feedproof/checklist/past"
	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/cmd/internal/facts"
	"feedproof/cmd/internal/facts/chart"
	"feedproof/schema/quantity"
)

// wantedMargin is the least margin that is planned for (rule L01).
const wantedMargin = 1.2

// axes are the units of a system that charts are drawn in.
type axes struct{ pressure, flow string }

func axesOf(system string) axes {
	if system == US {
		return axes{"psi", "gph"}
	}
	return axes{"bar", "L/h"}
}

// chartHeight lets three charts stand on a page with text, px.
const chartHeight = 105

// curveSteps is how many points of a pump's curve are drawn.
const curveSteps = 24

// deliveryChart is what the pumps give against pressure, aged, beside the
// demand and the margin over it.
func deliveryChart(c *state.Car, r fuel.Result, u axes) (chart.Chart, bool) {
	s, err := planning.System(c)
	if err != nil || len(s.Pumps) == 0 || r.Demand.Volume <= 0 {
		return chart.Chart{}, false
	}
	var given []chart.Point
	curve, err := fuel.NewCurve(s.Pumps[0])
	if err != nil {
		return chart.Chart{}, false
	}
	low, high := curve.Range(r.Delivery.Voltage)
	at, err := curve.Flow(quantity.Difference(r.Pressures.Outlet), r.Delivery.Voltage)
	if err != nil || at <= 0 {
		return chart.Chart{}, false
	}
	whole := float64(r.Delivery.Flow) / float64(at) // ageing, and pumps beside each other
	for i := range curveSteps + 1 {
		p := low + (high-low)*quantity.Difference(i)/curveSteps
		q, err := curve.Flow(p, r.Delivery.Voltage)
		if err != nil {
			continue
		}
		given = append(given, chart.Point{X: quantity.In(p, u.pressure), Y: quantity.In(q, u.flow) * whole})
	}
	demand := quantity.In(r.Demand.Volume, u.flow)
	outlet := quantity.In(r.Pressures.Outlet, u.pressure)
	return chart.Chart{
		Title: "Pump delivery against demand",
		About: fmt.Sprintf("At the planned %s the pump gives %s; the engine needs %s. The margin is %.2f, wanted at least %.2f.",
			pressure(r.Pressures.Outlet), flow(r.Delivery.Flow), flow(r.Demand.Volume), float64(r.Delivery.Margin), wantedMargin),
		X: chart.Axis{Label: "pressure at the pump outlet", Unit: u.pressure},
		Panels: []chart.Panel{{
			Height: chartHeight,
			Y:      chart.Axis{Label: "flow", Unit: u.flow},
			Lines:  []chart.Line{{Name: "delivery, aged, at " + quantity.Format(r.Delivery.Voltage, "V", 2), Points: given}},
			Bands:  []chart.Band{{Name: fmt.Sprintf("demand to %.2f x demand", wantedMargin), Low: chart.Level(demand), High: chart.Level(demand * wantedMargin)}},
			Limits: []chart.Limit{{Name: "demand " + flow(r.Demand.Volume), At: demand}},
		}},
		Windows: []chart.Window{{Name: fmt.Sprintf("planned: %s, %s, margin %.2f", pressure(r.Pressures.Outlet), flow(r.Delivery.Flow), float64(r.Delivery.Margin)), From: outlet, To: outlet}},
	}, true
}

// pressureChart is the pressure from the tank to the injector at full power.
func pressureChart(r fuel.Result, u axes) (chart.Chart, bool) {
	feed := r.Pressures.Feed
	if r.Pressures.Outlet <= 0 || r.Injection == nil {
		return chart.Chart{}, false
	}
	outlet := r.Pressures.Outlet
	behindParts := outlet - quantity.Gauge(feed.Parts)
	places := []struct {
		name string
		at   quantity.Gauge
	}{
		{"tank", 0}, {"pump outlet", outlet}, {"filter, valve", behindParts}, {"rail", r.Pressures.Rail}, {"manifold", r.Boost},
	}
	var line []chart.Point
	var ticks []chart.Tick
	for i, p := range places {
		line = append(line, chart.Point{X: float64(i), Y: quantity.In(p.at, u.pressure)})
		ticks = append(ticks, chart.Tick{At: float64(i), Text: p.name})
	}
	return chart.Chart{
		Title: "Pressures from tank to injector, at full power",
		About: fmt.Sprintf("Pump outlet %s, rail %s, manifold %s: %s across an injector.", pressure(outlet), pressure(r.Pressures.Rail), pressure(r.Boost), difference(r.Pressures.Across)),
		X:     chart.Axis{Label: "place", Ticks: ticks},
		Panels: []chart.Panel{{
			Height: chartHeight,
			Y:      chart.Axis{Label: "gauge pressure", Unit: u.pressure},
			Lines:  []chart.Line{{Name: "planned", Points: line, Kind: chart.Marked}},
		}},
		Notes: []string{fmt.Sprintf("Feed line, filter and valve take %s; across an injector stand %s.", difference(feed.Total), difference(r.Pressures.Across))},
	}, true
}

// slopeTolerance is how far the rail may be off the line of base and manifold
// pressure (rule L05 judges the slope itself).
const slopeTolerance = quantity.Difference(0.07 * quantity.Bar)

// slopeChart is the rail against the manifold pressure as read, beside the
// line that a referenced regulator should hold.
func slopeChart(c *state.Car, u axes) (chart.Chart, bool) {
	r, ok := c.Last("slope")
	base, planned := c.Base()
	if !ok || !planned {
		return chart.Chart{}, false
	}
	manifold, rail := r.Values("manifold"), r.Values("rail")
	var read []chart.Point
	for i := range min(len(manifold), len(rail)) {
		m, err1 := quantity.Of[quantity.Gauge](manifold[i].Written())
		p, err2 := quantity.Of[quantity.Gauge](rail[i].Written())
		if err1 != nil {
			var a quantity.Absolute
			a, err1 = quantity.Of[quantity.Absolute](manifold[i].Written())
			m = a.Over(state.StandardBarometer)
		}
		if err1 == nil && err2 == nil {
			read = append(read, chart.Point{X: quantity.In(m, u.pressure), Y: quantity.In(p, u.pressure)})
		}
	}
	if len(read) < 2 {
		return chart.Chart{}, false
	}
	b := quantity.In(base, u.pressure)
	off := quantity.In(slopeTolerance, u.pressure)
	var low, high []chart.Point
	for _, p := range []chart.Point{read[0], read[len(read)-1]} {
		low = append(low, chart.Point{X: p.X, Y: b + p.X - off})
		high = append(high, chart.Point{X: p.X, Y: b + p.X + off})
	}
	return chart.Chart{
		Title: "Rail against manifold pressure, as read",
		About: fmt.Sprintf("%d points. A regulator that is referenced 1 to 1 holds %s over the manifold.", len(read), difference(base)),
		X:     chart.Axis{Label: "manifold, gauge", Unit: u.pressure},
		Panels: []chart.Panel{{
			Height: chartHeight,
			Y:      chart.Axis{Label: "rail, gauge", Unit: u.pressure},
			Lines:  []chart.Line{{Name: "read " + r.Entry.At.UTC().Format("2006-01-02") + " by " + r.Entry.By, Points: read, Kind: chart.Marked}},
			Bands:  []chart.Band{{Name: "target ± " + difference(slopeTolerance), Low: low, High: high}},
		}},
	}, true
}

// yearsChart is what a quantity read through the years.
func yearsChart(c *state.Car) (chart.Chart, bool) {
	out := chart.Chart{Title: "Readings through the years", X: chart.Axis{Label: "date", Dates: true}}
	for _, want := range []struct{ test, value, label string }{
		{"base", "rail", "base pressure"}, {"supply", "current", "pump current"}, {"leak-down", "end", "leak-down, end"},
	} {
		s, err := past.Read(c, want.test, want.value)
		if err != nil || len(s.Points) == 0 {
			continue
		}
		line := chart.Line{Name: want.label, Kind: chart.Marked}
		for _, p := range s.Points {
			line.Points = append(line.Points, chart.Point{X: float64(p.Entry.At.Unix()), Y: p.Value})
		}
		out.Panels = append(out.Panels, chart.Panel{Y: chart.Axis{Label: want.label, Unit: s.Unit}, Lines: []chart.Line{line}, Height: 70})
		out.About += fmt.Sprintf("%s: %d readings, last %s. ", want.label, len(s.Points), s.Points[len(s.Points)-1].Written)
	}
	return out, len(out.Panels) > 0
}

func pressure(p quantity.Gauge) string { return facts.Two(p, "bar", 2, "psi", 1) }

func difference(p quantity.Difference) string { return facts.Two(p, "bar", 2, "psi", 1) }

func flow(q quantity.Flow) string { return facts.Two(q, "L/h", 1, "gph", 1) }
