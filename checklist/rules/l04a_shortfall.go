package rules

import (
	"math"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var shortfallScale = scale{{0.10 * quantity.Bar, schema.Flag}, {0.20 * quantity.Bar, schema.Hold}, {0.30 * quantity.Bar, schema.Block}}

var _ = register(Rule{
	ID: "L04a", Title: "pressure across the injectors under load, against base",
	What: "How far the pressure across the injectors falls short of base under full load. Best from a log that begins with 10 s of idle with the reference hose off: then both come from one sensor. " +
		"Without such a log, from the load reading and the base or idle reading on the same gauge. A second gauge brings its own error, which is as large as the limit.",
	Formula:  "shortfall = base - (rail - (manifold - barometer)). By hand U = hypot(0.3 U_rail + half a division, U_manifold), with two gauges hypot of both; values of a log are compared as they are",
	Limits:   "OK to 0.10 bar (1.5 psi), FLAG to 0.20 bar, HOLD to 0.30 bar (4.4 psi), BLOCK beyond, and end the pull",
	Source:   "common practice",
	Means:    "Relief valve, worn pump, lost volts, split reference hose, wrong base or a restriction before the rail: one number cannot say which.",
	Next:     "Follow it along manifold pressure and flow: flat offset means base or sensor, a slope means the reference, a knee at the top means the supply has run out.",
	Words:    Words{code.Outside: {"the injectors get less pressure than the map reckons with", "look along manifold pressure and flow: offset, slope or knee?"}},
	Envelope: true,
	Judge:    inVisit(judgeShortfall),
})

var shortfallLog = fromLog[quantity.Difference]{
	rule: "L04a", about: "shortfall under load, log", limit: "at most " + bar(quantity.Difference(shortfallScale[0].above)), value: logShortfall,
	scale: shortfallScale, print: bar[quantity.Difference], needed: "it holds no base, reference hose off, on the same sensor",
}

func judgeShortfall(c *state.Car) []schema.Finding {
	if !injected(c) || unreferencedBoost(c) {
		return nil
	}
	return beside(shortfallLog.judge(c), shortfallByHand(c), true)
}

// unreferencedBoost reports a boosted engine whose regulator is known not to
// follow the manifold: there the pressure falls by design and the plan reckons
// with it.
func unreferencedBoost(c *state.Car) bool {
	return !c.MayReference() && c.Plan.Envelope.Manifold.Or(0) > quantity.Absolute(105*quantity.KPa)
}

func shortfallByHand(c *state.Car) []schema.Finding {
	load, ok := c.Last("load")
	if !ok {
		return nil
	}
	if _, gone := invalidated(c, load, loadChanges...); gone {
		return nil
	}
	rail, ok1 := read[quantity.Gauge](c, load, "rail")
	v, _ := load.Value("manifold")
	m, ok2 := manifold(c, load, v)
	if !ok1 || !ok2 {
		return nil
	}
	base, by, ok := baseOn(c, rail.gauge)
	if !ok {
		return nil
	}
	across := rail.value.Minus(m.value.Over(barometer(load)))
	shortfall, u := quantity.Difference(base.value)-across, math.Hypot(apart(rail, base), float64(m.u))
	f := schema.Finding{
		Rule: "L04a", Subject: "load rail", About: "shortfall under load", Limit: shortfallLog.limit,
		Measured: bar(shortfall) + ": base " + bar(base.value) + ", under load " + bar(across), Entries: ids(by.Entry, load.Entry),
		Values: []schema.Amount{give("shortfall", shortfall, u), asRead("base", base), amount("across", across)}, Limits: []schema.Bound{atMost("shortfall", quantity.Difference(shortfallScale[0].above))},
	}
	return decided(weigh(f, shortfallScale, max(0, float64(shortfall)), u), firstOf(rail.trouble, base.trouble, m.trouble))
}

// baseOn is the last base pressure with the reference hose off, on that gauge
// if there is one.
func baseOn(c *state.Car, gauge string) (measured[quantity.Gauge], state.Reading, bool) {
	var other measured[quantity.Gauge]
	var by state.Reading
	found := false
	for i := len(c.Readings) - 1; i >= 0; i-- {
		r := c.Readings[i]
		name := map[string]string{"base": "rail", "idle": "off"}[r.Data.Test]
		if !c.InVisit(r.Entry) || r.Data.Test == "base" && hoseOn(r) {
			continue
		}
		if _, gone := invalidated(c, r, "regulator", "pump"); gone {
			continue
		}
		m, ok := read[quantity.Gauge](c, r, name)
		if !ok {
			continue
		}
		if m.gauge == gauge && gauge != "" {
			return m, r, true
		}
		if !found {
			other, by, found = m, r, true
		}
	}
	return other, by, found
}
