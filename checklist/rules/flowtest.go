package rules

import (
	"fmt"

	"feedproof/checklist/fuel"
	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

// flowTest is the last timed flow of the visit, V-12.
type flowTest struct {
	reading  state.Reading
	flow     quantity.Flow
	time     quantity.Duration
	pressure measured[quantity.Gauge]
	volts    measured[quantity.Voltage]
}

// Practice of a timed flow.
const (
	flowTime     = quantity.Duration(15)
	openHose     = quantity.Gauge(0.05 * quantity.Bar) // no more than this is no pressure at all
	flowVoltsOff = quantity.Voltage(0.2)               // like conditions
)

// lastFlow is the last timed flow; without one it is a test that was at no
// pressure and proves nothing.
func lastFlow(c *state.Car) (flowTest, bool) {
	r, ok := c.Last("flow")
	if !ok {
		return flowTest{}, false
	}
	if _, gone := invalidated(c, r, "pump", "pump 2"); gone {
		return flowTest{}, false
	}
	volume, ok1 := timed[quantity.Volume](r, "volume")
	time, ok2 := timed[quantity.Duration](r, "time")
	pressure, ok3 := read[quantity.Gauge](c, r, "pressure")
	volts, ok4 := read[quantity.Voltage](c, r, "volts")
	if !ok1 || !ok2 || !ok3 || !ok4 || time <= 0 {
		return flowTest{}, false
	}
	return flowTest{r, quantity.Flow(float64(volume) / float64(time)), time, pressure, volts}, true
}

func (t flowTest) String() string {
	return fmt.Sprintf("%s at %s and %s", flow(t.flow), bar(t.pressure.value), quantity.Format(t.volts.value, "V", 1))
}

// trouble is why the test proves nothing about the pump.
func (t flowTest) trouble() doubt {
	switch {
	case t.openPipe():
		return doubtful(code.Unpressured)
	case exceeds(float64(flowTime), float64(t.time)):
		return doubtful(code.Brief, amount("least", flowTime))
	}
	return firstOf(t.pressure.trouble, t.volts.trouble)
}

// values are what was read.
func (t flowTest) values() []schema.Amount {
	return []schema.Amount{amount("flow", t.flow), asRead("pressure", t.pressure), asRead("volts", t.volts)}
}

func (t flowTest) openPipe() bool { return !exceeds(float64(t.pressure.value), float64(openHose)) }

// atFullLoad is why the test was not at the pressure and volts of full load:
// empty when it was, or when it was at harder ones.
func (t flowTest) atFullLoad(c *state.Car) string {
	h, ok := planning.Highest(c)
	highest := h.Rail
	switch volts, known := loadVolts(c); {
	case !ok:
		return "the plan gives no highest rail pressure"
	case exceeds(float64(highest), float64(t.pressure.value-t.pressure.u)):
		return "below the highest rail pressure, " + bar(highest)
	case !known:
		return "volts at the pump under load are not known"
	case exceeds(float64(t.volts.value-volts), float64(flowVoltsOff)):
		return "at more volts than the pump has under load, " + quantity.Format(volts, "V", 1)
	}
	return ""
}

// loadVolts is what the pump has at full load: measured, else computed.
func loadVolts(c *state.Car) (quantity.Voltage, bool) {
	if v, ok := planning.MeasuredVoltage(c); ok {
		return v, true
	}
	r, err := planning.Compute(c)
	return r.Delivery.Voltage, err == nil
}

// curveFlow is what new pumps of the car give at a pressure and voltage, by
// their curves.
func curveFlow(c *state.Car, p quantity.Gauge, v quantity.Voltage) (quantity.Flow, error) {
	system, err := planning.System(c)
	if err != nil {
		return 0, err
	}
	return fuel.NewFlow(system, quantity.Difference(p), v)
}
