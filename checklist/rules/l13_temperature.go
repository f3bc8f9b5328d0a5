package rules

import (
	"errors"
	"fmt"

	"feedproof/checklist/fuel"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var hotFuelScale = scale{{float64(quantity.Celsius(50)), schema.Flag}, {float64(quantity.Celsius(60)), schema.Hold}}

const vapourReserve = quantity.Absolute(10 * quantity.KPa)

var _ = register(Rule{
	ID: "L13", Title: "fuel temperature and vapour",
	What: "The highest fuel temperature that was read in tank, surge tank or rail, or logged. And the true vapour pressure of the fuel standing under the barometer of the envelope's altitude, " +
		"at the hotter of the plan's temperature and what was read in tank or surge tank. The vapour rule beats the temperature rule: hot fuel that is still within its limit may boil at altitude.",
	Formula: "vapour pressure from the Reid vapour pressure and temperature; barometer of the standard atmosphere at the envelope's altitude. The correlation holds to E10 only",
	Limits:  "OK to 50 degC (122 degF), FLAG to 60 degC, HOLD beyond; vapour pressure over barometer - 10 kPa: HOLD",
	Source:  "limits: common practice. Vapour pressure: US EPA AP-42 ch. 7.1, Figure 7.1-14b. Atmosphere: ICAO standard atmosphere",
	Means:   "Fuel boils in the pump's inlet, in the line or in the rail: the engine runs lean hot, and does not start again.",
	Next:    "Return into the tank and not the surge tank, a cooler, pumps staged or slowed, a line away from the exhaust.",
	Words: Words{
		code.Outside: {"hot fuel gives vapour and less flow", "where does the return end, and what does the line pass?"},
		code.Vapour:  {"the fuel may boil where the pump draws it", "cool it, keep pressure on it, a fuel of lower vapour pressure, or a lower altitude in the envelope"},
	},
	Envelope: true,
	Shop:     atMostOwn[quantity.Temperature](hotFuelScale),
	Judge:    inVisit(judgeFuelTemperature),
})

func judgeFuelTemperature(c *state.Car) []schema.Finding {
	s, limit := shopScale[quantity.Temperature](c, "L13", "at most "+celsius(quantity.Temperature(hotFuelScale[0].above)), hotFuelScale)
	var found []schema.Finding
	r, _ := c.Last("fuel temperature")
	for _, place := range []string{"tank", "surge", "rail"} {
		m, known := read[quantity.Temperature](c, r, place)
		if !known {
			continue
		}
		f := hotFuel(place, "fuel temperature "+place, limit, celsius(m.value), r.Entry)
		f.Values, f.Limits = []schema.Amount{asRead("temperature", m)}, []schema.Bound{atMost("temperature", quantity.Temperature(s[0].above))}
		f = weigh(f, s, float64(m.value), float64(m.u))
		found = append(found, decided(f, m.trouble)...)
	}
	if l, ok := lastPull(c); ok {
		if t, at, ok := logged[quantity.Temperature](l, logFuelTemp); ok {
			f := hotFuel("log", inLog(logFuelTemp), limit, celsius(t)+at, l.Entry)
			f.Values, f.Limits = []schema.Amount{amount("temperature", t)}, []schema.Bound{atMost("temperature", quantity.Temperature(s[0].above))}
			f.Severity = s.grade(float64(t))
			found = append(found, f)
		}
	}
	return append(found, vapourFinding(c)...)
}

func hotFuel(place, subject, limit, measured string, e schema.Entry) schema.Finding {
	return schema.Finding{
		Rule: "L13", Subject: subject, About: "fuel temperature, " + place, Measured: measured, Limit: limit, Entries: ids(e),
	}
}

func celsius(t quantity.Temperature) string { return both(t, "degC", 1, "degF", 0) }

// lowEthanol is the most ethanol that the vapour correlation covers.
const lowEthanol = quantity.Fraction(0.10)

func vapourFinding(c *state.Car) []schema.Finding {
	if c.Plan == nil || c.Plan.Fuel == nil || exceeds(float64(c.Plan.Envelope.EthanolMax.Or(0)), float64(lowEthanol)) {
		return nil
	}
	hottest := hottestStanding(c)
	rvp, err1 := c.Plan.Fuel.RVP.SI()
	pressure, err2 := fuel.VapourPressure(rvp, hottest)
	altitude, err3 := c.Plan.Envelope.Altitude.SI()
	air, err4 := fuel.StandardAtmosphere(altitude)
	if errors.Join(err1, err2, err3, err4) != nil {
		return nil
	}
	over := air.Pressure
	if c.Plan.Suction != nil {
		over += quantity.Absolute(c.Plan.Suction.OverVented.Or(0))
	}
	f := schema.Finding{
		Rule: "L13", Subject: "vapour", About: "vapour pressure", Entries: ids(c.PlanBy),
		Values: []schema.Amount{amount("vapour pressure", pressure), amount("temperature", hottest)}, Limits: []schema.Bound{atMost("vapour pressure", over-vapourReserve)},
		Measured: fmt.Sprintf("%s at %s", quantity.Format(pressure, "kPa abs", 1), celsius(hottest)),
		Limit:    fmt.Sprintf("at most %s, which is 10 kPa below the barometer at %s", quantity.Format(over-vapourReserve, "kPa abs", 1), quantity.Format(altitude, "m", 0)),
	}
	if exceeds(float64(pressure), float64(over-vapourReserve)) {
		f.Severity, f.Code = schema.Hold, code.Vapour
	}
	return []schema.Finding{f}
}

// hottestStanding is the hotter of the plan's fuel and what was read where
// fuel stands under the barometer; 0 K when nobody knows.
func hottestStanding(c *state.Car) quantity.Temperature {
	t := c.Plan.Fuel.Temperature.Or(0)
	r, _ := c.Last("fuel temperature")
	for _, place := range []string{"tank", "surge"} {
		m, _ := timed[quantity.Temperature](r, place)
		t = max(t, m)
	}
	return t
}
