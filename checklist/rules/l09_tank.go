package rules

import (
	"fmt"

	"feedproof/checklist/car"
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
	What:    "The fall of a dry tank's pressure in 10 minutes, at 7 kPa (1 psi) or less, corrected for the change of air temperature. Without both temperatures it proves nothing: 1 K is worth more than the limit.",
	Formula: "loss = p1 - p2 (T1 / T2), absolute pressures and temperatures",
	Limits:  "OK to 0.25 kPa (1.0 inH2O), FLAG to 0.50 kPa, HOLD beyond; a bubble at a joint or more than 10 kPa (1.5 psi): STOP",
	Source:  "gas law; limits: common practice",
	Means:   "A leak hides behind warming air, and cooling air looks like a leak.",
	Next:    "Soap on seams, flange, sender and vent stub. Never shop air: a flat tank bulges at 14 to 20 kPa (2 to 3 psi). Never on a tank that holds vapour.",
	Judge:   judgeTank,
})

func judgeTank(c *car.Car) []schema.Finding {
	r, ok := c.Last("tank air")
	if !ok || c.Visit == nil {
		return nil
	}
	f := schema.Finding{Rule: "L09", About: "tank air test", Limit: "loses at most 0.25 kPa (1.0 inH2O) in 10 min", Entries: ids(r.Entry),
		Means: "the tank is not shown tight", Next: "soap on seams, flange, sender and vent stub"}
	if why, gone := invalidated(c, r, "tank", "module"); gone {
		return missing("L09", f.About, f.Limit, why+": do it again")
	}
	start, ok1 := read[quantity.Gauge](c, r, "start")
	end, ok2 := read[quantity.Gauge](c, r, "end")
	if bubble, seen := r.Value("bubble"); seen && bubble.Seen == "bubble" {
		return stopTank(f, "a bubble at a joint", "the joint leaks")
	}
	if !ok1 || !ok2 {
		return missing("L09", f.About, f.Limit, "read pressure at the start and after 10 min")
	}
	if exceeds(float64(start.value), float64(tankPressure)) {
		return stopTank(f, bar(start.value), "the pressure can burst a flat tank")
	}
	return tankLoss(r, f, start, end)
}

func stopTank(f schema.Finding, measured, means string) []schema.Finding {
	f.Severity, f.Measured, f.Means = schema.Stop, measured, means
	return []schema.Finding{f}
}

func tankLoss(r car.Reading, f schema.Finding, start, end measured[quantity.Gauge]) []schema.Finding {
	t1, ok1 := timed[quantity.Temperature](r, "temperature start")
	t2, ok2 := timed[quantity.Temperature](r, "temperature end")
	time, ok3 := timed[quantity.Duration](r, "time")
	f.Measured = fmt.Sprintf("%s to %s", kilopascals(start.value), kilopascals(end.value))
	switch {
	case !ok1 || !ok2:
		return []schema.Finding{unproven(f, "the air temperature was not read at both ends")}
	case !ok3 || exceeds(float64(tankTime), float64(time)):
		return []schema.Finding{unproven(f, "it was shorter than 10 min")}
	}
	p1, p2 := start.value.Above(barometer(r)), end.value.Above(barometer(r))
	loss := quantity.Difference(float64(p1) - float64(p2)*float64(t1)/float64(t2))
	f.Measured = fmt.Sprintf("lost %s, corrected", quantity.Format(loss, "kPa", 2))
	f.Severity = tankScale.decide(max(0, float64(loss)), float64(start.diff))
	return decided(f, start.trouble+end.troubleUnless(start.trouble))
}

func kilopascals(p quantity.Gauge) string { return quantity.Format(p, "kPa", 2) }
