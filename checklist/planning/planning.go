// Package planning turns a car's plan and its parts into the fuel system that
// package fuel computes: what is really fitted before what was planned, what
// was measured before what was assumed.
//
// Start with [Compute].
package planning

import (
	"errors"
	"fmt"

	"feedproof/checklist/fuel"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// ErrNoPlan says that the car has no plan.
var ErrNoPlan = errors.New("the car has no plan yet")

// Compute is the calculation on the car as it stands: what is fitted, and what
// the plan names where nothing is fitted yet. It is made once for a car.
//
// Errors: [ErrNoPlan]; an input that is missing, by name; what fuel.Plan
// refuses.
func Compute(c *state.Car) (fuel.Result, error) {
	p := both(c)
	return p.fitted.result, p.fitted.err
}

// ComputePlanned is the calculation on the parts that the plan names, whatever
// is in the car today. Where [Others] lists nothing it is [Compute].
//
// Errors: as [Compute].
func ComputePlanned(c *state.Car) (fuel.Result, error) {
	p := both(c)
	return p.planned.result, p.planned.err
}

type answer struct {
	result fuel.Result
	err    error
}

type answers struct{ fitted, planned answer }

func both(c *state.Car) answers {
	return c.Once(func() any {
		out := answers{fitted: compute(System(c))}
		if out.planned = out.fitted; c.Plan != nil && len(Others(c)) > 0 {
			out.planned = compute(Planned(c))
		}
		return out
	}).(answers)
}

func compute(s fuel.System, err error) answer {
	if err != nil {
		return answer{err: err}
	}
	r, err := fuel.Plan(s)
	return answer{r, err}
}

// System is the fuel system of the car as it stands.
func System(c *state.Car) (fuel.System, error) {
	if c.Plan == nil {
		return fuel.System{}, ErrNoPlan
	}
	return (&builder{car: c, plan: *c.Plan}).system()
}

// Planned is the fuel system of the parts that the plan names. Volts that were
// measured count while those parts are the ones in the car.
func Planned(c *state.Car) (fuel.System, error) {
	if c.Plan == nil {
		return fuel.System{}, ErrNoPlan
	}
	return (&builder{car: c, plan: *c.Plan, planned: len(Others(c)) > 0}).system()
}

func (b *builder) system() (fuel.System, error) {
	p := b.plan
	s := fuel.System{
		Engine:      b.engine(),
		Fuel:        b.fuel(),
		Site:        fuel.Site{Altitude: need(b, "altitude of the envelope", p.Envelope.Altitude)},
		Arrangement: fuel.Arrangement(p.Pumps.Arrangement),
		Pumps:       b.pumps(),
		Feed:        b.line("feed line", p.Feed),
		Supply:      b.supply(),
		Rails:       b.rails(),
		Tank:        b.tank(),
		Suction:     b.suction(),
		Surge:       b.surge(),

		OutletPressure: p.Outlet.Or(0),
		Acceleration:   p.Acceleration.Or(0),
	}
	if p.Return != nil && p.Return.Bore.State != schema.NotApplicable {
		line := b.line("return line", *p.Return)
		s.Return = &line
	}
	if p.Carburettor != nil {
		s.Carburettor = b.carburettor()
	} else {
		s.Regulator, s.Injectors = b.regulator(), b.injectors()
	}
	return s, b.err
}

// WantsReturn reports that the plan's regulator sends fuel back and that nobody
// says through what: no return line is planned, and none is ruled out.
func WantsReturn(p schema.PlanData) bool {
	return p.Carburettor == nil && p.Regulator != nil && p.Regulator.Kind != schema.Returnless && p.Return == nil
}

// builder keeps the first input that is missing.
type builder struct {
	car     *state.Car
	plan    schema.PlanData
	planned bool // the plan's parts, whatever is fitted
	err     error
}

func (b *builder) fail(format string, args ...any) {
	if b.err == nil {
		b.err = fmt.Errorf(format, args...)
	}
}

// need takes a value that the calculation cannot do without.
func need[T quantity.Quantity](b *builder, name string, q schema.Q[T]) T {
	v, err := q.SI()
	if err != nil {
		b.fail("plan: %s: %w", name, err)
	}
	return v
}

func (b *builder) engine() fuel.Engine {
	e, p := b.plan.Engine, b.plan
	engine := fuel.Engine{
		Power:           need(b, "power of the envelope", p.Envelope.Power),
		Basis:           fuel.PowerBasis(p.Basis),
		DrivelineLoss:   p.Loss.Or(0),
		PowerCorrection: p.Correction.Or(0),
		BSFC:            need(b, "specific consumption", e.Consumption),
		BSFCEthanol:     e.Measured.Or(p.Envelope.EthanolMax.Or(0)),
		Lambda:          e.Lambda.Or(0),
		SpeedMax:        need(b, "engine speed of the envelope", p.Envelope.Speed),
		ManifoldMax:     need(b, "manifold pressure of the envelope", p.Envelope.Manifold),
	}
	if e.Displaced.Known() && e.Filling.Known() && e.Charge.Known() {
		engine.Breathing = &fuel.Breathing{Displacement: e.Displaced.Or(0), VolumetricEfficiency: e.Filling.Or(0), Charge: e.Charge.Or(0)}
	}
	if e.IdleFuel.Known() && e.IdleSpeed.Known() && e.IdleIntake.Known() {
		engine.Idle = &fuel.Idle{Fuel: e.IdleFuel.Or(0), Speed: e.IdleSpeed.Or(0), Manifold: e.IdleIntake.Or(0)}
	}
	return engine
}

func (b *builder) fuel() fuel.Fuel {
	f := fuel.Fuel{
		EthanolMax: need(b, "highest ethanol of the envelope", b.plan.Envelope.EthanolMax),
		EthanolMin: b.plan.Envelope.EthanolMin.Or(0),
	}
	if b.plan.Fuel != nil {
		f.Temperature, f.VapourPressure = b.plan.Fuel.Temperature.Or(0), b.plan.Fuel.RVP.Or(0)
	}
	return f
}

var regulatorKinds = map[schema.RegulatorKind]fuel.RegulatorKind{
	schema.Referenced: fuel.Referenced, schema.Vented: fuel.Vented, schema.Returnless: fuel.Fixed,
}

func (b *builder) regulator() fuel.Regulator {
	if b.plan.Regulator == nil {
		b.fail("plan: regulator: not given")
		return fuel.Regulator{}
	}
	r := b.plan.Regulator
	return fuel.Regulator{
		Kind: regulatorKinds[r.Kind], Base: quantity.Gauge(need(b, "base pressure", r.Base)),
		Ratio: r.Ratio.Or(0), Rating: r.Rating.Or(0),
	}
}

// fitted is the part in a position, or the planned one while it is empty.
func (b *builder) fitted(position, planned string) (schema.PartData, string) {
	id := planned
	if f, ok := b.car.Fitted[position]; ok && !b.planned {
		id = f.Data.Part
	}
	part := b.car.PartData(id)
	if part == nil {
		b.fail("part %q (%s): is not in the shop; see `feedproof part list`", id, position)
		return schema.PartData{}, id
	}
	return *part, id
}

func (b *builder) injectors() *fuel.Injectors {
	if b.plan.Injectors == nil {
		b.fail("plan: injectors: not given")
		return nil
	}
	part, id := b.fitted("injectors", b.plan.Injectors.Part)
	if part.Injector == nil {
		b.fail("part %s: holds no injector data", id)
		return nil
	}
	d := part.Injector
	i := &fuel.Injectors{
		Count: b.plan.Injectors.Count, StaticFlow: d.StaticFlow.Or(0), StaticMass: d.StaticMass.Or(0),
		RatedDifference: need(b, "rated pressure of injector "+id, d.Pressure), TestFluid: d.FluidDensity.Or(namedFluids[d.Fluid]),
		EventsPerCycle: b.plan.Engine.Injections, Spread: d.Spread.Or(0), OpensUpTo: d.MaxPressure.Or(0),
	}
	for _, t := range d.DeadTime {
		i.DeadTime = append(i.DeadTime, fuel.DeadTime{Voltage: t.Voltage.Or(0), Time: t.Time.Or(0)})
	}
	return i
}

// namedFluids are the test fluids that a flow sheet may name instead of giving
// their density. "unknown" has none: the calculation then takes the low side.
var namedFluids = map[string]quantity.Density{"n-heptane": fuel.TestFluidDensity}

func (b *builder) carburettor() *fuel.Carburettor {
	k := b.plan.Carburettor
	return &fuel.Carburettor{
		Pressure: need(b, "carburettor pressure", k.Pressure), Seats: k.Seats,
		Seat: need(b, "needle seat", k.Seat), Bowls: need(b, "bowl volume", k.Bowls),
	}
}

// pumpPositions are where the pumps of a plan sit: pump, pump 2, ...
func pumpPositions(p schema.PumpPlan) []string {
	positions := []string{"pump"}
	for i := 2; i <= p.Count; i++ {
		positions = append(positions, fmt.Sprintf("pump %d", i))
	}
	return positions
}

// Other is a part that is fitted where the plan names another one.
type Other struct{ Position, Planned, Fitted string }

// Others lists where the calculation takes what is fitted and not what the
// plan of the car names, pumps first.
func Others(c *state.Car) []Other {
	var out []Other
	see := func(position, planned string) {
		if f, ok := c.Fitted[position]; ok && f.Data.Part != planned {
			out = append(out, Other{position, planned, f.Data.Part})
		}
	}
	for _, position := range pumpPositions(c.Plan.Pumps) {
		see(position, c.Plan.Pumps.Part)
	}
	if c.Plan.Injectors != nil {
		see("injectors", c.Plan.Injectors.Part)
	}
	if c.Plan.Surge != nil {
		see("lift pump", c.Plan.Surge.Lift)
	}
	return out
}

// pumps are those of the plan, each replaced by what is really fitted.
func (b *builder) pumps() []fuel.Pump {
	var out []fuel.Pump
	for _, position := range pumpPositions(b.plan.Pumps) {
		part, id := b.fitted(position, b.plan.Pumps.Part)
		if part.Pump == nil {
			b.fail("part %s: holds no pump curve", id)
			continue
		}
		out = append(out, b.pump(part, id))
	}
	return out
}

func (b *builder) pump(part schema.PartData, id string) fuel.Pump {
	p := Pump(id, *part.Pump)
	p.Ageing = b.plan.Pumps.Ageing.Or(0)
	return p
}

// Pump is a pump as its papers describe it, new.
func Pump(id string, d schema.PumpData) fuel.Pump {
	p := fuel.Pump{Name: "pump " + id, Relief: d.Relief.Or(0)}
	for _, q := range d.Curve {
		p.Curve = append(p.Curve, fuel.CurvePoint{
			Pressure: q.Pressure.Or(0), Voltage: q.Voltage.Or(0), Flow: q.Flow.Or(0), Current: q.Current.Or(0),
		})
	}
	return p
}

func (b *builder) line(name string, l schema.LinePlan) fuel.Line {
	line := fuel.Line{
		Name: name, Bore: need(b, name+" bore", l.Bore), Length: need(b, name+" length", l.Length), K: l.Fittings.Float(),
		Rise: l.Rise.Or(0), Forward: l.Forward.Or(0), Rating: l.WorkingPressure.Or(0),
	}
	for _, d := range []struct {
		name string
		drop schema.Q[quantity.Difference]
	}{{"filter", l.FilterDrop}, {"check valve", l.CheckDrop}} {
		if d.drop.Known() {
			line.Drops = append(line.Drops, fuel.Drop{Name: d.name, Difference: d.drop.Or(0), Flow: need(b, name+" flow of the "+d.name+" drop", l.AtFlow)})
		}
	}
	return line
}

// supply is the wiring, with the pump's volts as measured at load since the
// pump or the wiring last changed, else as planned.
func (b *builder) supply() fuel.Supply {
	s := fuel.Supply{Terminal: b.plan.Pumps.Voltage.Or(0)}
	if w := b.plan.Wiring; w != nil {
		s = fuel.Supply{
			Terminal: s.Terminal, Source: need(b, "source voltage", w.Source), Area: need(b, "wire area", w.Area),
			Feed: need(b, "feed wire length", w.Feed), Ground: need(b, "ground wire length", w.Ground),
			Contacts: need(b, "contact resistance", w.Contacts), Temperature: w.Temperature.Or(0), Fuse: w.Fuse.Or(0), Ampacity: w.Ampacity.Or(0),
		}
	}
	if v, ok := MeasuredVoltage(b.car); ok && !b.planned {
		s.Terminal = v
	}
	return s
}

// MeasuredVoltage is the volts at the pump as last read at load, unless the
// pump or the wiring changed since, or a charger on the battery lifted them.
func MeasuredVoltage(c *state.Car) (quantity.Voltage, bool) {
	r, ok := c.LastAtLoad("supply")
	if !ok {
		return 0, false
	}
	if _, gone := c.ChangedAfter(r.Entry, "pump", "wiring"); gone || r.Data.Conditions != nil && r.Data.Conditions.Charger == schema.Yes {
		return 0, false
	}
	v, ok := r.Value("pump")
	if !ok {
		return 0, false
	}
	volts, err := quantity.Of[quantity.Voltage](v.Written())
	return volts, err == nil
}

func (b *builder) rails() *fuel.Rails {
	r := b.plan.Rails
	if r == nil {
		return nil
	}
	rails := &fuel.Rails{
		Count: r.Count, Arrangement: fuel.RailArrangement(r.Arrangement),
		Bore: need(b, "rail bore", r.Bore), Length: need(b, "rail length", r.Length),
	}
	if r.Link != nil {
		rails.Link = b.line("rail link", *r.Link)
	}
	return rails
}

// Tank is the tank of the plan; nil when its volume is not known.
//
// Errors: [ErrNoPlan].
func Tank(c *state.Car) (*fuel.Tank, error) {
	if c.Plan == nil {
		return nil, ErrNoPlan
	}
	b := builder{car: c, plan: *c.Plan}
	return b.tank(), b.err
}

func (b *builder) tank() *fuel.Tank {
	t := b.plan.Tank
	if t == nil {
		return nil
	}
	return &fuel.Tank{
		Geometric: t.Volume.Or(0), Unpumpable: t.Unpumpable.Or(0), Length: t.Length.Or(0), Height: t.Height.Or(0),
		PickUp: t.PickUp.Or(0), Level: b.plan.Envelope.FuelLevel.Or(0), Cornering: t.Cornering.Or(0),
		Reservoir: t.Reservoir.Or(0), ReturnsInto: t.ReturnInside == schema.Yes,
	}
}

func (b *builder) suction() *fuel.Suction {
	s := b.plan.Suction
	if s == nil {
		return nil
	}
	return &fuel.Suction{Line: b.line("suction line", s.Line), Level: need(b, "fuel level over the pump", s.Level), OverVented: s.OverVented.Or(0)}
}

func (b *builder) surge() *fuel.Surge {
	s := b.plan.Surge
	if s == nil {
		return nil
	}
	part, id := b.fitted("lift pump", s.Lift)
	if part.Pump == nil {
		b.fail("part %s: holds no pump curve", id)
		return nil
	}
	return &fuel.Surge{
		Volume: need(b, "surge volume", s.Volume), Lift: b.pump(part, id), Pressure: need(b, "lift pressure", s.Pressure),
		Terminal: need(b, "lift pump voltage", s.Voltage), Dry: need(b, "dry spell", s.Dry), ReturnEnds: fuel.Destination(s.Return),
	}
}

// Highest is the highest pressure of each place in the envelope, and the state
// it stands in. Of a plan that cannot be computed, for want of a pump's curve
// or the like, it is what the regulator makes of the envelope, without the lines.
// False without a regulator's base or the envelope's manifold pressure.
func Highest(c *state.Car) (fuel.Highest, bool) {
	if r, err := Compute(c); err == nil {
		return r.Highest, true
	}
	if c.Plan == nil || c.Plan.Regulator == nil {
		return fuel.Highest{}, false
	}
	p := *c.Plan
	b := &builder{car: c, plan: p}
	rail, err := fuel.HighestRegulated(b.regulator(), need(b, "manifold", p.Envelope.Manifold), fuel.Site{Altitude: p.Envelope.Altitude.Or(0)})
	at := "by the regulator alone, at the envelope's altitude"
	return fuel.Highest{Rail: rail, RailAt: at, Outlet: max(rail, p.Outlet.Or(0)), OutletAt: at}, b.err == nil && err == nil
}
