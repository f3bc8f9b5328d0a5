package datalogtest

import (
	"fmt"
	"math"
	"math/rand/v2"

	"feedproof/checklist/fuel"
	q "feedproof/schema/quantity"
)

// Fault is what is wrong with a car.
type Fault string

// Faults of the trade notes' logs A to G, and a regulator whose reference is off.
const (
	Healthy       Fault = "healthy"
	Relief        Fault = "relief"
	WornPump      Fault = "worn pump"
	VoltageSag    Fault = "voltage sag"
	ReferenceLeak Fault = "reference leak"
	Offset        Fault = "offset"
	Restriction   Fault = "restriction"
	NoReference   Fault = "no reference"
)

// Faults are all of them, healthy first.
func Faults() []Fault {
	return []Fault{Healthy, Relief, WornPump, VoltageSag, ReferenceLeak, Offset, Restriction, NoReference}
}

// Car is a fuel system as it was planned and as it is.
type Car struct {
	Fault   Fault
	Planned fuel.System
	Is      fuel.System
	Full    q.MassFlow                // at full power
	Volts   func(rpm float64) float64 // at the pump
}

// Numbers of the example: a 2.0 L turbo of 400 kW on 144 kg/h, four injectors
// of 930.7 g/min and a base of 3.0 bar. The pump is invented so that with 26 %
// less flow, or at 12.0 V, its knee falls into the last of the pull.
const (
	Barometer = 101.3 // kPa
	Base      = 3.0   // bar
	TopMAP    = 291.0 // kPa
	TopRPM    = 7200.0
)

// Example is the car of the trade notes' logs with one fault of the size they
// give.
func Example(f Fault) Car {
	c := Car{Fault: f, Planned: system(), Volts: healthyVolts}
	c.fill()
	c.Is = c.Planned
	switch f {
	case Relief:
		c.relief(4.60 * q.Bar)
	case WornPump:
		c.worn(0.74)
	case VoltageSag:
		c.Volts = saggingVolts
	case ReferenceLeak:
		c.Is.Regulator.Ratio = 0.85
	case Offset:
		c.Is.Regulator.Base -= 0.3 * q.Bar
	case Restriction:
		c.restricted(0.36 * q.Bar)
	case NoReference:
		c.Is.Regulator.Kind = fuel.Vented
	}
	return c
}

func system() fuel.System {
	var curve []fuel.CurvePoint
	for _, row := range [...]struct{ volts, atFive float64 }{{12.0, 178}, {13.5, 259}} {
		for bar := 2.0; bar <= 7; bar++ {
			curve = append(curve, fuel.CurvePoint{Pressure: q.Difference(bar * q.Bar), Voltage: q.Voltage(row.volts), Flow: q.Flow(row.atFive-22*(bar-5)) * q.LPerH})
		}
	}
	s := fuel.System{
		Engine:    fuel.Engine{Power: 400 * q.KW, Basis: fuel.Crank, BSFC: 0.360 * q.KgPerKWh, BSFCEthanol: 0.10, SpeedMax: TopRPM * q.RPM, ManifoldMax: TopMAP * 1e3},
		Fuel:      fuel.Fuel{EthanolMax: 0.10},
		Site:      fuel.Site{Barometer: Barometer * 1e3},
		Regulator: fuel.Regulator{Base: Base * q.Bar, Kind: fuel.Referenced},
		Injectors: &fuel.Injectors{Count: 4, StaticMass: 930.7 * q.GPerMin, RatedDifference: 3 * q.Bar, EventsPerCycle: 1,
			DeadTime: []fuel.DeadTime{{Voltage: 10, Time: 0.95 * q.MS}, {Voltage: 16, Time: 0.95 * q.MS}}},
		Pumps:  []fuel.Pump{{Curve: curve, Ageing: 1}},
		Feed:   fuel.Line{Bore: 8.7 * q.MM, Length: 4},
		Return: &fuel.Line{Bore: 8.7 * q.MM, Length: 4},
		Supply: fuel.Supply{Terminal: 13.3},
	}
	blend, err := s.Fuel.Blend()
	if err != nil {
		panic(err)
	}
	s.Injectors.TestFluid = blend.Density // the flow is that of this fuel
	return s
}

// fill sets flow and power to what the injectors give, open as long as in the
// example.
func (c *Car) fill() {
	s := &c.Planned
	static, err := s.Injectors.Static(c.blend().Density, q.Difference(s.Regulator.Base))
	if err != nil {
		panic(err)
	}
	c.Full = static * q.MassFlow(s.Injectors.Count) * FullDuty / 100
	s.Engine.Power = q.Power(float64(c.Full) / float64(s.Engine.BSFC))
}

func (c *Car) blend() fuel.Blend {
	blend, err := c.Planned.Fuel.Blend()
	if err != nil {
		panic(err)
	}
	return blend
}

func (c *Car) volume() q.Flow { return fuel.VolumeFlow(c.Full, c.blend().Density) }

// relief lets the pump give nothing above a pressure.
func (c *Car) relief(at q.Difference) {
	c.changePumps(func(p *fuel.Pump) { *p = p.Relieved(at) })
}

func (c *Car) worn(left q.Fraction) {
	c.changePumps(func(p *fuel.Pump) { p.Ageing *= left })
}

func (c *Car) changePumps(change func(*fuel.Pump)) {
	c.Is.Pumps = append([]fuel.Pump(nil), c.Is.Pumps...)
	for i := range c.Is.Pumps {
		change(&c.Is.Pumps[i])
	}
}

// restricted puts the regulator into the module and a narrow place behind it.
func (c *Car) restricted(loss q.Difference) {
	c.Is.Return, c.Is.Regulator.Place = nil, fuel.BeforeRail
	c.Is.Feed.Drops = append(c.Is.Feed.Drops, fuel.Drop{Name: "narrow place", Difference: loss, Flow: c.volume()})
}

// Random is a car with a fault, its base pressure, boost, flow, pump and the size of
// the fault drawn. The car has a reserve of 8 to 30 % when healthy.
func Random(f Fault, random *rand.Rand) Car {
	between := func(low, high float64) float64 { return low + (high-low)*random.Float64() }
	c := Car{Fault: f, Planned: system(), Volts: healthyVolts}
	s := &c.Planned
	scale, boost, reserve := between(0.6, 1.6), between(0.9, 1.2), between(1.08, 1.30)
	s.Injectors.StaticMass *= q.MassFlow(scale)
	s.Regulator.Base = q.Gauge(between(2.8, 4.2) * q.Bar)
	c.fill()
	s.Engine.ManifoldMax *= q.Absolute(boost)
	s.Feed.Length, s.Return.Length = q.Length(between(2, 5)), q.Length(between(2, 5))
	c.sizePump(q.Flow(reserve))
	c.Is = c.Planned
	size := q.Difference(between(0.2, 0.45) * q.Bar) // lost at the top
	top := q.Difference(s.Regulator.Rail(s.Engine.ManifoldMax, s.Site.Barometer))
	switch f {
	case Relief:
		c.relief(top + c.feedLoss() - size)
	case WornPump:
		c.worn(q.Fraction(between(0.90, 0.96) / float64(reserve)))
	case VoltageSag:
		lost := between(1.0, 1.8)
		c.Volts = func(rpm float64) float64 { return 13.6 - lost*math.Min((rpm-3000)/4000, 1) }
		c.sagging(between(0.90, 0.96))
	case ReferenceLeak:
		c.Is.Regulator.Ratio = 1 - q.Fraction(size/q.Difference(s.Engine.ManifoldMax-s.Site.Barometer))
	case Offset:
		c.Is.Regulator.Base -= q.Gauge(size)
	case Restriction:
		c.restricted(size)
	case NoReference:
		c.Is.Regulator.Kind = fuel.Vented
	}
	return c
}

// sizePump scales the pump to so many times the full flow at full pressure.
func (c *Car) sizePump(times q.Flow) {
	c.Is = c.Planned
	c.scalePump(&c.Planned, times, c.Volts(TopRPM))
}

// sagging makes planned and real pump such that at the volts of the end it
// gives this share of the full flow.
func (c *Car) sagging(share float64) {
	c.scalePump(&c.Planned, q.Flow(share), c.Volts(TopRPM))
	c.Is.Pumps = c.Planned.Pumps
}

func (c *Car) scalePump(s *fuel.System, times q.Flow, volts float64) {
	curve, err := fuel.NewCurve(s.Pumps[0])
	if err != nil {
		panic(err)
	}
	outlet := q.Difference(s.Regulator.Rail(s.Engine.ManifoldMax, s.Site.Barometer)) + c.feedLoss()
	gives, err := curve.Flow(outlet, q.Voltage(volts))
	if err != nil {
		panic(err)
	}
	factor := times * c.volume() / gives
	pump := s.Pumps[0]
	pump.Curve = append([]fuel.CurvePoint(nil), pump.Curve...)
	for i := range pump.Curve {
		pump.Curve[i].Flow *= factor
	}
	s.Pumps = []fuel.Pump{pump}
}

func (c *Car) feedLoss() q.Difference {
	return c.Planned.Feed.Loss(c.volume(), c.blend()).Total
}

// Across is the pressure across the injectors in bar as the network gives it,
// at a manifold pressure in kPa, a share of the full flow and the volts at the
// pump. It panics where the network has no answer: the car is then no car.
func (c Car) Across() func(mapKPa, flow, volts float64) float64 {
	type place struct{ mapKPa, flow, volts float64 }
	known := map[place]float64{}
	return func(mapKPa, flow, volts float64) float64 {
		at := place{math.Round(mapKPa * 10), math.Round(flow * 1000), math.Round(volts * 100)}
		if bar, ok := known[at]; ok {
			return bar
		}
		o, err := fuel.Operate(c.Is, fuel.Point{
			Manifold: q.Absolute(at.mapKPa * 100), Fuel: q.MassFlow(max(at.flow, 1)/1000) * c.Full, Voltage: q.Voltage(at.volts / 100), New: false,
		})
		if err != nil {
			panic(fmt.Sprintf("%s car at %v: %v", c.Fault, at, err))
		}
		known[at] = float64(o.Lowest) / q.Bar
		return known[at]
	}
}

// Log is a drive and how it is written.
type Log struct {
	Drive   Drive
	Dialect Dialect
}

// RandomLog drives a car once, with the noise and resolution of the sensor, the
// rate and dialect of the logger, the length of the pull, a change of gear in
// two of three and the pulsation of the injectors drawn.
func RandomLog(c Car, random *rand.Rand) Log {
	between := func(low, high float64) float64 { return low + (high-low)*random.Float64() }
	d := c.Drive()
	d.Seed, d.Pulls = random.Uint64(), 1
	d.Rate = []float64{10, 20, 50, 100}[random.IntN(4)]
	d.Noise, d.Quantum, d.PullTime = between(0.004, 0.015), between(0.001, 0.01), between(5, 10)
	if random.IntN(3) > 0 {
		d.Shift = between(0.3, 0.6) * d.PullTime
	}
	swing, phase := between(0, 0.02), between(0, 2*math.Pi)
	d.Pulse = func(t, rpm float64) float64 { // four cylinders, injected in turn
		return swing * math.Sin(2*math.Pi*rpm/30*t+phase)
	}
	dialects := Dialects()
	return Log{d, dialects[random.IntN(len(dialects))]}
}
