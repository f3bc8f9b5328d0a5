package invent

import (
	"fmt"
	"time"

	"feedproof/schema"
	"feedproof/schema/quantity"
)

// copier is who writes the same base pressure on every car where trouble is
// asked for.
const copier = "tech-4"

// cutStep is the step that cuts a tank.
const cutStep = "c6"

// value is one value of a reading with the gauge it was read on.
type value struct {
	schema.Value
	gauge string
}

func v(name string, x float64, unit string, decimals int, gauge string) value {
	return value{schema.Value{Name: name, Value: fmt.Sprintf("%.*f", decimals, x), Unit: unit}, gauge}
}

func seen(name, what string) value { return value{schema.Value{Name: name, Seen: what}, ""} }

// snapshotOf is a gauge as it was at a moment.
func (c *life) snapshotOf(id string, at time.Time) schema.GaugeSnapshot {
	for _, i := range instruments {
		if i.id != id {
			continue
		}
		s := i.snapshot
		s.Gauge, s.Due = id, i.due(at)
		if id == "G1" && !c.rare(120) {
			s.Bumped = at.Truncate(day).Add(6*time.Hour + 50*time.Minute).UTC().Format(time.RFC3339)
		}
		return s
	}
	return schema.GaugeSnapshot{Gauge: id}
}

func (c *life) reading(at time.Time, test string, values ...value) {
	c.reading2(at, c.tech, test, values...)
}

func (c *life) reading2(at time.Time, by, test string, values ...value) {
	d := schema.ReadingData{Test: test, Conditions: c.conditions(test)}
	for _, x := range values {
		if x.gauge != "" {
			g := c.snapshotOf(x.gauge, at)
			x.Gauge = &g
		}
		d.Values = append(d.Values, x.Value)
	}
	c.reading3(at, by, d)
}

func (c *life) reading3(at time.Time, by string, d schema.ReadingData) {
	c.made.Readings++
	c.add(at, by, d)
}

func (c *life) conditions(test string) *schema.Conditions {
	air := q[quantity.Temperature](12+float64(c.chance.IntN(20)), "degC", 0)
	switch test {
	case "base":
		return &schema.Conditions{Hose: "off", Engine: "off", AirTemp: air}
	case "load", "supply":
		return &schema.Conditions{Engine: "load", Ethanol: q[quantity.Fraction](c.fuel, "%", 0), AirTemp: air, Charger: schema.No}
	case "fuel temperature", "flow", "leak-down":
		return &schema.Conditions{AirTemp: air}
	}
	return nil
}

// gas is a reading at the floor and at work height.
func (c *life) gas(at time.Time, floor string) {
	g := c.snapshotOf("G1", at)
	c.reading3(at, c.tech, schema.ReadingData{Test: "gas", Values: []schema.Value{
		{Name: "floor", Value: floor, Unit: "%LEL", Gauge: &g}, {Name: "work", Value: "0.0", Unit: "%LEL", Gauge: &g}}})
}

// noise is a small share up or down.
func (c *life) noise(share float64) float64 { return 1 + share*(2*c.chance.Float64()-1) }

// tests takes the readings of a visit.
func (c *life) tests(tick func() time.Time) {
	wanted := max(3, c.Readings+c.chance.IntN(c.Readings/5+1)-c.Readings/10-1) // the gas reading is one
	c.base += c.drift
	p1 := "P1"
	if c.chance.IntN(4) == 0 {
		p1 = "P2"
	}
	late := c.rare(150) // closed after the engine ran
	for n := range wanted {
		c.test(n, tick(), p1)
		if n == 1 && !late {
			c.closeDry(tick())
		}
	}
	if late {
		c.closeDry(tick())
	}
}

// closeDry closes the point before the first start.
func (c *life) closeDry(at time.Time) {
	c.byTwo(at, "HP5")
}

// test takes the n-th reading of a visit.
func (c *life) test(n int, at time.Time, p string) {
	base := c.base * c.noise(0.01)
	switch n {
	case 0:
		c.reading(at, "leak", v("pressure", 4.4, "bar", 2, p), v("held", 90, "s", 0, ""), seen("rail inlet", "dry"), seen("hanger", "dry"))
	case 1:
		read := base
		if c.Trouble > 1 && c.tech == copier {
			read = 3.02
		}
		c.reading(at, "base", v("rail", read, "bar", 2, p))
	case 2:
		c.reading(at, "supply", v("source", 13.9*c.noise(0.01), "V", 2, "M1"), v("pump", 13.3*c.noise(0.01), "V", 2, "M1"), v("current", 9.5*c.noise(0.06), "A", 1, "M1"))
	case 3:
		c.flow(at, p)
	case 4:
		boost := 1.0 + 0.2*c.chance.Float64()
		c.reading(at, "load", v("rail", base+boost-0.06*c.chance.Float64(), "bar", 2, p), v("manifold", boost, "bar gauge", 2, "P2"))
	case 5:
		c.reading(at, "leak-down", v("start", base, "bar", 2, p), v("end", base-0.1-0.2*c.chance.Float64(), "bar", 2, p), v("time", 5, "min", 0, ""))
	case 6:
		c.reading(at, "zero", v("rail", 0, "bar", 2, p))
	case 7:
		c.reading(at, "plug", v("volts", 0, "V", 2, "M1"))
	case 8:
		c.reading(at, "idle", v("off", base, "bar", 2, p), v("on", base-0.62, "bar", 2, p), v("manifold", 0.61*c.noise(0.05), "bar vacuum", 2, "P2"))
	case 9:
		c.reading(at, "ethanol", v("ethanol", c.fuel, "%", 0, ""))
	case 10:
		c.reading(at, "filter", v("drop", 0.05+0.02*float64(c.visit%4), "bar", 2, p))
	case 11:
		c.reading(at, "prime", v("time", 1.6*c.noise(0.2), "s", 1, ""))
	case 12:
		c.reading(at, "fuel temperature", v("tank", 38*c.noise(0.15), "degC", 0, ""))
	case 13:
		c.reading(at, "stop", v("time", 1.2*c.noise(0.3), "s", 1, ""))
	case 14:
		c.reading(at, "return", v("pressure", 0.12*c.noise(0.3), "bar", 2, p))
	case 15:
		c.reading(at, "winding", v("winding", 0.8*c.noise(0.1), "ohm", 2, "M1"))
	case 16:
		c.reading(at, "bond", v("resistance", 0.3*c.noise(0.4), "ohm", 1, "M1"))
	case 17:
		c.reading(at, "vent", v("tank", -0.4*c.noise(0.5), "kPa", 2, ""))
	default:
		c.reading(at, "torque", v("torque", 12*c.noise(0.04), "Nm", 1, ""))
	}
}

// flow times the pump at pressure: less as its lot wears.
func (c *life) flow(at time.Time, p string) {
	worn := 1 - c.pump.wear*at.Sub(c.pumpFrom).Hours()/24/365.25
	perHour := max(60, c.pump.flow*worn) * c.noise(0.025)
	if c.pump.flow == 0 { // the customer's own
		perHour = 200 * c.noise(0.05)
	}
	seconds := 60.0
	c.reading(at, "flow", v("volume", perHour*seconds/3600, "L", 2, ""), v("time", seconds, "s", 0, ""), v("pressure", 4, "bar", 2, p), v("volts", 13.5, "V", 1, "M1"))
}
