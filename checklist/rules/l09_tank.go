package rules

import (
	"fmt"
	"math"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
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
	Words: Words{
		code.Incomplete: {"nothing shows it yet", "read pressure at the start and after 10 min"},
		code.Changed:    {"nothing shows it yet", "{changed} changed after it: do it again"},
		code.Outside:    {"the tank is not shown tight", soapIt},
		code.Leaks:      {"the joint leaks", soapIt},
		code.Dangerous:  {"the pressure can burst a flat tank", "let it off; never shop air on a tank"},
	},
	Judge: inVisit(judgeTank),
})

const soapIt = "soap on seams, flange, sender and vent stub"

func judgeTank(c *state.Car) []schema.Finding {
	r, ok := c.Last("tank air")
	if !ok {
		return nil
	}
	f := schema.Finding{Rule: "L09", Subject: "tank air", About: "tank air test", Limit: "loses at most 0.25 kPa (1.0 inH2O) in 10 min", Limits: []schema.Bound{atMost("loss", quantity.Difference(tankScale[0].above))}, Entries: ids(r.Entry)}
	if why, gone := invalidated(c, r, "tank", "module"); gone {
		return outdated(f, why)
	}
	start, ok1 := read[quantity.Gauge](c, r, "start")
	end, ok2 := read[quantity.Gauge](c, r, "end")
	if bubble, _ := r.Value("bubble"); bubble.Seen == "bubble" {
		return stopTank(f, "a bubble at a joint", code.Leaks)
	}
	if !ok1 || !ok2 {
		return lacking(f, code.Incomplete)
	}
	if exceeds(float64(start.value), float64(tankPressure)) {
		f.Values, f.Limits = []schema.Amount{asRead("start", start)}, []schema.Bound{atMost("start", tankPressure)}
		return stopTank(f, bar(start.value), code.Dangerous)
	}
	return tankLoss(c, r, f, start, end)
}

func stopTank(f schema.Finding, measured string, why code.Code) []schema.Finding {
	f.Severity, f.Measured, f.Code = schema.Stop, measured, why
	return []schema.Finding{f}
}

func tankLoss(c *state.Car, r state.Reading, f schema.Finding, start, end measured[quantity.Gauge]) []schema.Finding {
	t1, ok1 := read[quantity.Temperature](c, r, "temperature start")
	t2, ok2 := read[quantity.Temperature](c, r, "temperature end")
	time, _ := timed[quantity.Duration](r, "time")
	f.Measured = fmt.Sprintf("%s to %s", kilopascals(start.value), kilopascals(end.value))
	switch {
	case !ok1 || !ok2:
		return []schema.Finding{unproven(f, doubtful(code.NoAir))}
	case exceeds(float64(tankTime), float64(time)):
		return []schema.Finding{unproven(f, doubtful(code.Brief, schema.Amount{Name: "least", Value: "10", Unit: "min"}))}
	}
	p1, p2 := start.value.Above(barometer(r)), end.value.Above(barometer(r))
	loss := quantity.Difference(float64(p1) - float64(p2)*float64(t1.value)/float64(t2.value))
	u := apart(start, end)
	withTemperature := math.Hypot(u, float64(p2)/float64(t2.value)*apart(t1, t2))
	f.Measured = fmt.Sprintf("lost %s, corrected", quantity.Format(loss, "kPa", 2))
	lost := max(0, float64(loss))
	f.Values = []schema.Amount{give("loss", loss, withTemperature)}
	sharp, blunt := weigh(f, tankScale, lost, u), weigh(f, tankScale, lost, withTemperature)
	if f = blunt; sharp.Severity > blunt.Severity {
		f = sharp
	}
	return decided(f, firstOf(start.trouble, end.trouble, t1.trouble, t2.trouble))
}

func kilopascals(p quantity.Gauge) string { return quantity.Format(p, "kPa", 2) }
