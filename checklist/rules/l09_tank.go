package rules

import (
	"fmt"
	"math"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

var tankScale = scale{{0.25 * quantity.KPa, schema.Flag}, {0.50 * quantity.KPa, schema.Hold}}

const (
	tankTime     = quantity.Duration(10 * quantity.Minute)
	tankPressure = quantity.Gauge(10 * quantity.KPa)
)

var _ = register(Rule{
	ID: "L09", Title: "tank air test, corrected for temperature", Never: true,
	What:    "The fall of a dry tank's pressure in 10 minutes, at 7 kPa (1 psi) or less, corrected for the change of air temperature. Without both temperatures, or by a thermometer too coarse, it proves nothing: 1 K is worth more than the limit. What the pressures alone show is lost stays a HOLD.",
	Formula: "loss = p1 - p2 (T1 / T2), absolute pressures and temperatures; U of the pressures' difference for a fail, and for a pass its hypot with p2 / T2 x U of the temperatures' difference",
	Limits:  "OK to 0.25 kPa (1.0 inH2O), FLAG to 0.50 kPa, HOLD beyond; a bubble at a joint or more than 10 kPa (1.5 psi): STOP",
	Source:  "gas law; limits: common practice",
	Means:   "A leak hides behind warming air, and cooling air looks like a leak.",
	Next:    "Soap on seams, flange, sender and vent stub. Never shop air: a flat tank bulges at 14 to 20 kPa (2 to 3 psi). Never on a tank that holds vapour.",
	Judge:   inVisit(judgeTank),
})

func judgeTank(c *state.Car) []schema.Finding {
	r, ok := c.Last("tank air")
	if !ok {
		return nil
	}
	f := schema.Finding{Rule: "L09", About: "tank air test", Limit: "loses at most 0.25 kPa (1.0 inH2O) in 10 min", Entries: ids(r.Entry),
		Means: "the tank is not shown tight", Next: "soap on seams, flange, sender and vent stub"}
	if why, gone := invalidated(c, r, "tank", "module"); gone {
		return missing("L09", f.About, f.Limit, why+": do it again")
	}
	start, ok1 := read[quantity.Gauge](c, r, "start")
	end, ok2 := read[quantity.Gauge](c, r, "end")
	if bubble, _ := r.Value("bubble"); bubble.Seen == "bubble" {
		return stopTank(f, "a bubble at a joint", "the joint leaks")
	}
	if !ok1 || !ok2 {
		return missing("L09", f.About, f.Limit, "read pressure at the start and after 10 min")
	}
	if exceeds(float64(start.value), float64(tankPressure)) {
		return stopTank(f, bar(start.value), "the pressure can burst a flat tank")
	}
	return tankLoss(c, r, f, start, end)
}

func stopTank(f schema.Finding, measured, means string) []schema.Finding {
	f.Severity, f.Measured, f.Means = schema.Stop, measured, means
	return []schema.Finding{f}
}

func tankLoss(c *state.Car, r state.Reading, f schema.Finding, start, end measured[quantity.Gauge]) []schema.Finding {
	t1, ok1 := read[quantity.Temperature](c, r, "temperature start")
	t2, ok2 := read[quantity.Temperature](c, r, "temperature end")
	time, _ := timed[quantity.Duration](r, "time")
	f.Measured = fmt.Sprintf("%s to %s", kilopascals(start.value), kilopascals(end.value))
	switch {
	case !ok1 || !ok2:
		return []schema.Finding{unproven(f, "the air temperature was not read at both ends")}
	case exceeds(float64(tankTime), float64(time)):
		return []schema.Finding{unproven(f, "it was shorter than 10 min")}
	}
	p1, p2 := start.value.Above(barometer(r)), end.value.Above(barometer(r))
	loss := quantity.Difference(float64(p1) - float64(p2)*float64(t1.value)/float64(t2.value))
	u := apart(start, end)
	withTemperature := math.Hypot(u, float64(p2)/float64(t2.value)*apart(t1, t2))
	f.Measured = fmt.Sprintf("lost %s, corrected", quantity.Format(loss, "kPa", 2))
	lost := max(0, float64(loss))
	f.Severity = max(tankScale.decide(lost, u), tankScale.decide(lost, withTemperature))
	trouble := start.trouble + end.troubleUnless(start.trouble)
	trouble += t1.troubleUnless(trouble)
	return decided(f, trouble+t2.troubleUnless(trouble))
}

func kilopascals(p quantity.Gauge) string { return quantity.Format(p, "kPa", 2) }
