package cli

import (
	"errors"
	"fmt"
	"maps"
	"regexp"
	"strings"

	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"

	"github.com/spf13/pflag"
)

// planInputs are what the flags of a plan write to. They are set once from the
// command line, to check them, and once more over the last plan.
type planInputs struct {
	data   schema.PlanData
	ret    schema.LinePlan
	rails  schema.RailPlan
	wiring schema.WiringPlan
	fuel   schema.FuelPlan
	tank   schema.TankPlan
	more   moreParts
}

// startPlan copies the last plan so that every part of it can be set. Its
// consumption stays that of the fuel it was measured on, whatever becomes of
// the envelope.
func startPlan(last *schema.PlanData) schema.PlanData {
	if last == nil {
		return schema.PlanData{}
	}
	d := *last
	if d.Engine.Measured.IsZero() && d.Envelope.EthanolMax.Known() {
		d.Engine.Measured = d.Envelope.EthanolMax
	}
	return d
}

// ownParts gives the flags parts of their own to write to.
func (f *planInputs) ownParts() {
	d := &f.data
	if d.Regulator == nil {
		d.Regulator = &schema.RegulatorPlan{}
	} else {
		r := *d.Regulator
		d.Regulator = &r
	}
	if d.Injectors == nil {
		d.Injectors = &schema.InjectorPlan{}
	} else {
		i := *d.Injectors
		d.Injectors = &i
	}
	copyInto(&f.ret, d.Return)
	copyInto(&f.rails, d.Rails)
	copyInto(&f.wiring, d.Wiring)
	copyInto(&f.fuel, d.Fuel)
	copyInto(&f.tank, d.Tank)
	f.more.own(*d)
}

func copyInto[T any](to *T, from *T) {
	if from != nil {
		*to = *from
	}
}

// finish puts the parts that hold something into the plan.
func (f *planInputs) finish() schema.PlanData {
	d := f.data
	if f.ret.Length.IsZero() && f.ret.Bore.State == schema.NotApplicable {
		f.ret.Length = f.ret.Bore // what is not there has no length either
	}
	d.Return, d.Rails, d.Wiring = filled(f.ret), filled(f.rails), filled(f.wiring)
	d.Fuel, d.Tank = filled(f.fuel), filled(f.tank)
	d.Regulator, d.Injectors = filled(*d.Regulator), filled(*d.Injectors)
	f.more.finish(&d)
	d.Pumps.Count = max(1, d.Pumps.Count)
	if d.Envelope.FuelLevel.IsZero() {
		d.Envelope.FuelLevel.State = schema.Unknown
	}
	return d
}

// missing lists the inputs that no plan can do without.
func missing(d schema.PlanData) []string {
	regulator, injectors, injected := d.Regulator, d.Injectors, d.Carburettor == nil
	surge := schema.SurgePlan{}
	copyInto(&surge, d.Surge)
	carburettor, back := schema.CarburettorPlan{}, schema.LinePlan{}
	copyInto(&carburettor, d.Carburettor)
	copyInto(&back, d.Return)
	lifted := d.Surge != nil
	var out []string
	for _, need := range []struct {
		flag string
		gone bool
	}{
		{"--power", d.Envelope.Power.IsZero()}, {"--basis crank or wheel", d.Basis == ""}, {"--boost", d.Envelope.Manifold.IsZero()}, {"--rpm", d.Envelope.Speed.IsZero()},
		{"--ethanol", d.Envelope.EthanolMax.IsZero()}, {"--altitude", d.Envelope.Altitude.IsZero()}, {"--bsfc", d.Engine.Consumption.IsZero()},
		{"--regulator", injected && (regulator == nil || regulator.Kind == "")}, {"--base", injected && (regulator == nil || regulator.Base.IsZero())},
		{"--injectors", injected && (injectors == nil || injectors.Part == "")}, {"--injector-count", injected && (injectors == nil || injectors.Count == 0)},
		{"--carb-pressure", !injected && carburettor.Pressure.IsZero()}, {"--carb-seats", !injected && carburettor.Seats == 0},
		{"--carb-seat", !injected && carburettor.Seat.IsZero()}, {"--carb-bowls", !injected && carburettor.Bowls.IsZero()},
		{"--pump", d.Pumps.Part == ""}, {"--feed-bore", d.Feed.Bore.IsZero()}, {"--feed-length", d.Feed.Length.IsZero()},
		{"--surge", lifted && surge.Volume.IsZero()}, {"--lift", lifted && surge.Lift == ""}, {"--lift-pressure", lifted && surge.Pressure.IsZero()},
		{"--lift-volts", lifted && surge.Voltage.IsZero()}, {"--lift-dry", lifted && surge.Dry.IsZero()},
		{"--surge-return", lifted && surge.Return == "" && d.Return != nil},
		{"--return-bore and --return-length (or --return-bore na:WHY where the regulator sits in the tank)", planning.WantsReturn(d)},
		{"--return-bore", d.Return != nil && back.Bore.IsZero()}, {"--return-length", d.Return != nil && back.Length.IsZero()},
	} {
		if need.gone {
			out = append(out, need.flag)
		}
	}
	return out
}

func filled[T comparable](part T) *T {
	var zero T
	if part == zero {
		return nil
	}
	return &part
}

// addInputs gives a set the flags of a plan, which write over one.
func addInputs(set *pflag.FlagSet, over schema.PlanData) *planInputs {
	f := &planInputs{data: over}
	f.ownParts()
	f.addEnvelope(set)
	f.addSystem(set)
	f.addLines(set)
	f.addMore(set)
	return f
}

func (f *planInputs) addEnvelope(set *pflag.FlagSet) {
	e := &f.data.Envelope
	measure(set, &e.Power, "power", "most power the car may make")
	choice(set, &f.data.Basis, "basis", "where that power is measured")
	measure(set, &f.data.Loss, "loss", "drive loss, for power at the wheels")
	set.Var(boostFlag{e}, "boost", "highest boost, over a sea-level barometer")
	measure(set, &e.Manifold, "manifold", "or highest manifold pressure, as kPa abs")
	measure(set, &e.Speed, "rpm", "highest engine speed")
	set.Var(ethanolFlag{e}, "ethanol", `least to most ethanol, "0 to 10 %"`)
	measure(set, &e.Altitude, "altitude", "highest altitude")
	measure(set, &e.FuelLevel, "level", "least fuel level for hard driving")
	set.Var(consumptionFlag{&f.data.Engine}, "bsfc", `brake specific consumption at full load, and the fuel it was measured on: "0.36 kg/kWh on 10 %"`)
	set.Var(refusedFlag(noMethanol), "methanol", "is not planned: it says why")
	measure(set, &f.data.Engine.Lambda, "lambda", "lambda at full load")
	set.IntVar(&f.data.Engine.Injections, "injections", f.data.Engine.Injections, "injections in 720 degrees (default 1)")
	measure(set, &f.fuel.RVP, "rvp", "Reid vapour pressure")
	measure(set, &f.fuel.Temperature, "fuel-temp", "highest fuel temperature")
	measure(set, &f.fuel.Mapped, "mapped", "ethanol that a fixed tune is for; left out: the map follows a sensor")
	set.StringVar(&f.data.Note, "note", f.data.Note, "in words")
	set.StringVar(&f.data.Map, "calibration", f.data.Map, "the engine calibration that the car leaves with: its file, version or hash")
}

func (f *planInputs) addSystem(set *pflag.FlagSet) {
	d := &f.data
	choice(set, &d.Regulator.Kind, "regulator", "how pressure is controlled")
	measure(set, &d.Regulator.Base, "base", "base pressure, reference hose off")
	set.StringVar(&d.Injectors.Part, "injectors", d.Injectors.Part, "injectors: a part of the shop")
	set.IntVar(&d.Injectors.Count, "injector-count", d.Injectors.Count, "how many injectors")
	set.StringVar(&d.Pumps.Part, "pump", d.Pumps.Part, "pump: a part of the shop")
	set.IntVar(&d.Pumps.Count, "pump-count", d.Pumps.Count, "how many pumps (default 1)")
	choice(set, &d.Pumps.Arrangement, "pumps", "how several pumps stand to one another")
	measure(set, &d.Pumps.Ageing, "ageing", "of new flow that is left when aged (default 95 %)")
	measure(set, &d.Pumps.Voltage, "pump-volts", "at the pump's terminals, at full load")
	measure(set, &d.Outlet, "outlet", "pump outlet pressure, as the lead rounds it up")
	measure(set, &f.wiring.Source, "source", "wiring: volts at the source, full load")
	measure(set, &f.wiring.Area, "wire", "wiring: cross-section")
	measure(set, &f.wiring.Feed, "wire-feed", "wiring: length of the feed wire")
	measure(set, &f.wiring.Ground, "wire-ground", "wiring: length of the ground wire")
	measure(set, &f.wiring.Contacts, "contacts", "wiring: relay, fuse and connectors together")
	measure(set, &f.wiring.Temperature, "wire-temp", "wiring: temperature")
	measure(set, &f.wiring.Fuse, "fuse", "wiring: fuse")
	measure(set, &f.wiring.Ampacity, "ampacity", "wiring: ampacity in its bundle")
	measure(set, &f.tank.Reservoir, "reservoir", "tank: reservoir round the pump")
	choice(set, &f.tank.ReturnInside, "return-inside", "tank: the return ends inside the reservoir or surge tank")
}

func (f *planInputs) addLines(set *pflag.FlagSet) {
	addLine(set, &f.data.Feed, "feed")
	addLine(set, &f.ret, "return")
	set.IntVar(&f.rails.Count, "rails", f.rails.Count, "rails: how many")
	choice(set, &f.rails.Arrangement, "rail-arrangement", "rails: how several are fed")
	measure(set, &f.rails.Bore, "rail-bore", "rails: bore")
	measure(set, &f.rails.Length, "rail-length", "rails: length of each")
}

func addLine(set *pflag.FlagSet, l *schema.LinePlan, name string) {
	set.StringVar(&l.Size, name+"-size", l.Size, name+" line: dash size, as printed")
	measure(set, &l.Bore, name+"-bore", name+" line: smallest bore")
	measure(set, &l.Length, name+"-length", name+" line: length")
	set.Var(numberFlag{&l.Fittings}, name+"-fittings", name+" line: sum of minor-loss coefficients")
	measure(set, &l.FilterDrop, name+"-filter", name+" line: pressure drop of the filter")
	measure(set, &l.CheckDrop, name+"-check", name+" line: pressure drop of the check valve")
	measure(set, &l.AtFlow, name+"-at", name+" line: flow at which those drops hold")
	measure(set, &l.Rise, name+"-rise", name+" line: height of the far end")
	measure(set, &l.Forward, name+"-forward", name+" line: how far ahead the far end is")
	measure(set, &l.WorkingPressure, name+"-working", name+" line: working pressure of the hose")
}

// asTyped keeps what was typed for a flag, so that it can be set once more over
// the last plan; a difference waits for that plan.
type asTyped struct {
	pflag.Value
	name string
	to   *[]input
}

func (f asTyped) Set(text string) error {
	*f.to = append(*f.to, input{f.name, text})
	if _, is := movedBy(text); is {
		return nil
	}
	return absolute(f.Value, f.name, text)
}

// keepTyped gives a command the flags of a plan, which keep what was typed.
func keepTyped(set *pflag.FlagSet, to *[]input) {
	inputs := pflag.NewFlagSet("", pflag.ContinueOnError)
	addInputs(inputs, schema.PlanData{})
	inputs.VisitAll(func(flag *pflag.Flag) { flag.Value = asTyped{flag.Value, flag.Name, to} })
	set.AddFlagSet(inputs)
}

// relative is a flag that can be moved by a difference.
type relative interface{ Add(text string) error }

// setInput puts one input in: a value, or with a sign word a difference, "+=0.3 bar".
func setInput(set *pflag.FlagSet, in input) error {
	flag := set.Lookup(in.name)
	if flag == nil {
		return fmt.Errorf("is not an input of a plan")
	}
	by, is := movedBy(in.value)
	if !is {
		return absolute(flag.Value, in.name, in.value)
	}
	r, ok := flag.Value.(relative)
	if !ok {
		return fmt.Errorf("cannot be moved by a difference; write its value")
	}
	return r.Add(by)
}

// movedBy reads "+=0.3 bar" and "-=0.3 bar" as what to add.
func movedBy(text string) (by string, is bool) {
	text = strings.TrimSpace(text)
	switch {
	case strings.HasPrefix(text, "+="):
		return strings.TrimSpace(text[2:]), true
	case strings.HasPrefix(text, "-="):
		by = strings.TrimSpace(text[2:])
		if less, negative := strings.CutPrefix(by, "-"); negative {
			return less, true
		}
		return "-" + by, true
	}
	return "", false
}

// absolute sets a value, with its own sign. A plus in front once meant a
// difference, and is asked about.
func absolute(to pflag.Value, name, text string) error {
	if more, plus := strings.CutPrefix(strings.TrimSpace(text), "+"); plus {
		return fmt.Errorf("%q: to add write %s+=%s; a value has no plus", text, name, more)
	}
	return to.Set(text)
}

// seaLevel is the barometer over which a boost is taken.
const seaLevel = quantity.Absolute(101.325 * quantity.KPa)

// boostFlag is the manifold pressure, written as boost.
type boostFlag struct{ e *schema.Envelope }

func (f boostFlag) Type() string { return "gauge-pressure" }

func (f boostFlag) String() string {
	if f.e == nil || !f.e.Manifold.Known() {
		return ""
	}
	return quantity.Format(f.e.Manifold.Or(0).Over(seaLevel), "bar", moreDecimals)
}

func (f boostFlag) Set(text string) error {
	boost, err := quantity.Parse[quantity.Gauge](text)
	if err != nil {
		return err
	}
	f.e.Manifold = schema.Write[quantity.Absolute](quantity.Write(boost.Above(seaLevel), "kPa", 3))
	return nil
}

func (f boostFlag) Add(text string) error {
	return quantityFlag[quantity.Absolute]{&f.e.Manifold}.Add(text)
}

// ethanolFlag is the range of ethanol: "0 to 10 %", or one number for both.
type ethanolFlag struct{ e *schema.Envelope }

func (f ethanolFlag) Type() string { return "range" }

func (f ethanolFlag) String() string {
	if f.e == nil || !f.e.EthanolMax.Known() {
		return ""
	}
	return f.e.EthanolMin.String() + " to " + f.e.EthanolMax.String()
}

// Add moves the most; the least never stands above it.
func (f ethanolFlag) Add(text string) error {
	if err := (quantityFlag[quantity.Fraction]{&f.e.EthanolMax}).Add(text); err != nil {
		return err
	}
	if f.e.EthanolMin.Or(0) > f.e.EthanolMax.Or(0) {
		f.e.EthanolMin = f.e.EthanolMax
	}
	return nil
}

func (f ethanolFlag) Set(text string) error {
	if methanol.MatchString(text) {
		return errors.New(noMethanol)
	}
	if !strings.Contains(text, " to ") && !strings.Contains(text, "..") {
		text += " to " + text
	}
	low, high, err := span(text)
	if err != nil {
		return err
	}
	for _, w := range []quantity.Written{low, high} {
		if _, err := quantity.Of[quantity.Fraction](w); err != nil {
			return err
		}
	}
	f.e.EthanolMin, f.e.EthanolMax = schema.Write[quantity.Fraction](low), schema.Write[quantity.Fraction](high)
	return nil
}

// noMethanol is why a blend with methanol is refused.
const noMethanol = "blends with methanol are not planned: they need up to twice the volume, attack other materials than ethanol does, and no vapour pressure of theirs is known here; plan the fuel that the car may leave with"

// methanol is how such a blend is written: M85, or by its name.
var methanol = regexp.MustCompile(`(?i)^\s*m\d|methanol`)

// refusedFlag is a flag that refuses whatever is given, with its reason.
type refusedFlag string

func (f refusedFlag) String() string { return "" }

func (f refusedFlag) Type() string { return "fraction" }

func (f refusedFlag) Set(string) error { return errors.New(string(f)) }

// consumptionFlag is a specific consumption with the fuel that it was measured
// on: "0.36 kg/kWh on 10 %", or "on E10".
type consumptionFlag struct{ e *schema.EnginePlan }

func (f consumptionFlag) Type() string { return "consumption-on-ethanol" }

func (f consumptionFlag) String() string {
	if f.e == nil || f.e.Consumption.IsZero() {
		return ""
	}
	return f.e.Consumption.String() + " on " + f.e.Measured.String()
}

func (f consumptionFlag) Set(text string) error {
	if word, why, ok := noNumber(text); ok {
		f.e.Consumption = schema.Q[quantity.SpecificConsumption]{State: word, Why: why}
		return nil
	}
	value, on, said := strings.Cut(text, " on ")
	consumption, err := parseQ[quantity.SpecificConsumption](value)
	if err != nil {
		return err
	}
	if !said {
		return fmt.Errorf("say on which fuel it was measured: %q", strings.TrimSpace(text)+" on 10 %")
	}
	if methanol.MatchString(on) {
		return errors.New(noMethanol)
	}
	if e, blend := strings.CutPrefix(strings.ToUpper(strings.TrimSpace(on)), "E"); blend {
		on = e + " %"
	}
	ethanol, err := parseQ[quantity.Fraction](on)
	if err != nil {
		return err
	}
	f.e.Consumption, f.e.Measured = consumption, ethanol
	return nil
}

// Add moves the consumption on its fuel.
func (f consumptionFlag) Add(text string) error {
	return quantityFlag[quantity.SpecificConsumption]{&f.e.Consumption}.Add(text)
}

// numberFlag is a plain number without a unit.
type numberFlag struct{ n *schema.Number }

func (f numberFlag) Type() string { return "number" }

func (f numberFlag) String() string {
	if f.n == nil {
		return ""
	}
	return string(*f.n)
}

func (f numberFlag) Set(text string) error { return f.n.UnmarshalText([]byte(text)) }

// withoutAsked takes away what is fitted where a what-if names another part.
func withoutAsked(fitted map[string]state.Fitted, typed []input) map[string]state.Fitted {
	out := maps.Clone(fitted)
	for _, in := range typed {
		if in.name == "pump" || in.name == "injectors" {
			delete(out, in.name)
		}
	}
	return out
}
