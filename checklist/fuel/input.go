package fuel

import (
	"fmt"
	"strings"

	"feedproof/schema/quantity"
)

// input is a number of a [System] that a person may change by name: for
// [WhatIf], for the levers of [Advise] and for the tolerances of [Uncertainty].
type input struct {
	name    string
	meaning string
	get     func(*System) (float64, bool) // false when the part is not there
	set     func(*System, float64)
	read    func(text string) (float64, error) // a value in SI
	change  func(text string) (float64, error) // a difference in SI
	points  bool                               // a change in % adds points, as it does to a fraction
}

// field makes an input of a typed field; at gives nil when the part is not there.
func field[Q quantity.Quantity](name, meaning string, at func(*System) *Q) input {
	return input{
		name: name, meaning: meaning,
		get: func(s *System) (float64, bool) {
			if p := at(s); p != nil {
				return float64(*p), true
			}
			return 0, false
		},
		set:    func(s *System, v float64) { *at(s) = Q(v) },
		read:   reader[Q](),
		change: reader[Q](),
	}
}

func reader[Q quantity.Quantity]() func(string) (float64, error) {
	return func(text string) (float64, error) {
		v, err := quantity.Parse[Q](text)
		return float64(v), err
	}
}

// scale makes an input that multiplies what it finds; it stands at 100 %.
func scale(name, meaning string, apply func(*System, float64)) input {
	return input{name: name, meaning: meaning, get: func(*System) (float64, bool) { return 1, true }, set: apply,
		read: reader[quantity.Fraction](), change: reader[quantity.Fraction](), points: true}
}

func (i input) changing(read func(string) (float64, error)) input {
	i.change = read
	return i
}

func (i input) inPoints() input {
	i.points = true
	return i
}

// part reaches into an optional part.
func part[P, Q any](p *P, at func(*P) *Q) *Q {
	if p == nil {
		return nil
	}
	return at(p)
}

var inputs = []input{
	field("power", "stated engine power", func(s *System) *quantity.Power { return &s.Engine.Power }),
	field("loss", "driveline loss", func(s *System) *quantity.Fraction { return &s.Engine.DrivelineLoss }).inPoints(),
	field("bsfc", "specific fuel consumption", func(s *System) *quantity.SpecificConsumption { return &s.Engine.BSFC }),
	field("lambda", "lambda at full power", func(s *System) *quantity.Lambda { return &s.Engine.Lambda }),
	field("rpm", "highest engine speed", func(s *System) *quantity.EngineSpeed { return &s.Engine.SpeedMax }),
	field("manifold", "highest manifold pressure, absolute", func(s *System) *quantity.Absolute { return &s.Engine.ManifoldMax }).changing(reader[quantity.Difference]()),
	{name: "boost", meaning: "highest manifold pressure over the barometer", get: boost, set: setBoost, read: reader[quantity.Gauge](), change: reader[quantity.Difference]()},
	{name: "ethanol", meaning: "most ethanol by volume; consumption follows by energy", get: func(s *System) (float64, bool) { return float64(s.Fuel.EthanolMax), true },
		set: setEthanol, read: reader[quantity.Fraction](), change: reader[quantity.Fraction](), points: true},
	field("temperature", "highest fuel temperature", func(s *System) *quantity.Temperature { return &s.Fuel.Temperature }).changing(reader[quantity.TemperatureDifference]()),
	field("rvp", "Reid vapour pressure, absolute", func(s *System) *quantity.Absolute { return &s.Fuel.VapourPressure }).changing(reader[quantity.Difference]()),
	field("altitude", "highest altitude", func(s *System) *quantity.Length { return &s.Site.Altitude }),
	field("base", "regulator base pressure", func(s *System) *quantity.Gauge { return &s.Regulator.Base }).changing(reader[quantity.Difference]()),
	field("injector-flow", "injector static flow as rated", func(s *System) *quantity.Flow {
		return part(s.Injectors, func(i *Injectors) *quantity.Flow { return &i.StaticFlow })
	}),
	scale("dead-time", "injector dead time, of the stated", func(s *System, v float64) {
		if s.Injectors == nil {
			return
		}
		for i := range s.Injectors.DeadTime {
			s.Injectors.DeadTime[i].Time *= quantity.Duration(v)
		}
	}),
	scale("pump-flow", "pump flow, of the curve", func(s *System, v float64) {
		for i := range s.Pumps {
			for k := range s.Pumps[i].Curve {
				s.Pumps[i].Curve[k].Flow *= quantity.Flow(v)
			}
		}
	}),
	field("voltage", "voltage at the pump", func(s *System) *quantity.Voltage {
		if s.Supply.Terminal == 0 {
			return nil
		}
		return &s.Supply.Terminal
	}),
	field("source", "alternator or battery voltage", func(s *System) *quantity.Voltage { return &s.Supply.Source }),
	field("wire-area", "copper of the pump's wire", func(s *System) *quantity.Area { return &s.Supply.Area }),
	field("wire-feed", "length of the pump's feed wire", func(s *System) *quantity.Length { return &s.Supply.Feed }),
	field("contacts", "resistance of relay, fuse and connectors", func(s *System) *quantity.Resistance { return &s.Supply.Contacts }),
	field("feed-bore", "inside diameter of the feed line", func(s *System) *quantity.Length { return &s.Feed.Bore }),
	field("feed-length", "length of the feed line", func(s *System) *quantity.Length { return &s.Feed.Length }),
	scale("feed-loss", "filters and fittings of the feed line, of the stated", func(s *System, v float64) {
		s.Feed.K *= v
		for i := range s.Feed.Drops {
			s.Feed.Drops[i].Difference *= quantity.Difference(v)
		}
	}),
	field("return-bore", "inside diameter of the return line", func(s *System) *quantity.Length {
		return part(s.Return, func(l *Line) *quantity.Length { return &l.Bore })
	}),
	field("return-length", "length of the return line", func(s *System) *quantity.Length {
		return part(s.Return, func(l *Line) *quantity.Length { return &l.Length })
	}),
	field("outlet", "planned outlet pressure", func(s *System) *quantity.Gauge { return &s.OutletPressure }).changing(reader[quantity.Difference]()),
	field("acceleration", "longest forward acceleration", func(s *System) *quantity.Acceleration { return &s.Acceleration }),
}

func boost(s *System) (float64, bool) {
	b, err := s.Site.barometer()
	return float64(s.Engine.ManifoldMax - b), err == nil
}

func setBoost(s *System, v float64) {
	b, _ := s.Site.barometer()
	s.Engine.ManifoldMax = b + quantity.Absolute(v)
}

func setEthanol(s *System, v float64) {
	s.Fuel.EthanolMax = quantity.Fraction(v)
	s.Fuel.EthanolMin = min(s.Fuel.EthanolMin, s.Fuel.EthanolMax)
}

func findInput(name string) (input, error) {
	var known []string
	for _, i := range inputs {
		if i.name == name {
			return i, nil
		}
		known = append(known, i.name)
	}
	return input{}, fmt.Errorf("input %q: not known; known are %s", name, strings.Join(known, ", "))
}

// Inputs lists what [WhatIf] can change, as name and meaning.
func Inputs() [][2]string {
	var out [][2]string
	for _, i := range inputs {
		out = append(out, [2]string{i.name, i.meaning})
	}
	return out
}

// step reads a change such as "0.5 bar", "5 %" or "10 points" as what to add
// to the value v.
func (i input) step(text string, v float64) (float64, error) {
	if percent, err := quantity.Parse[quantity.Fraction](text); err == nil && strings.HasSuffix(strings.TrimSpace(text), "%") {
		if i.points {
			return float64(percent), nil
		}
		return v * float64(percent), nil
	}
	return i.change(text)
}

// Change is a question about one input: "boost+=0.5 bar" adds, "voltage-=1 V"
// takes off, "power+=10 %" scales (a fraction gains points), "base=3.5 bar"
// sets. A value after a plain = is the value itself, with its own sign.
type Change struct {
	Input string
	Sign  float64 // 1 adds, -1 takes off, 0 sets
	Text  string
}

// ParseChange reads a [Change]. A plus before a value that is set is refused: it
// once meant a difference.
func ParseChange(text string) (Change, error) {
	name, value, ok := strings.Cut(text, "=")
	c := Change{Input: strings.TrimSpace(name), Text: strings.TrimSpace(value)}
	switch {
	case !ok:
		return c, fmt.Errorf("%q is not of the form boost=1.2 bar or boost+=0.3 bar", text)
	case strings.HasSuffix(c.Input, "+"):
		c.Sign = 1
	case strings.HasSuffix(c.Input, "-"):
		c.Sign = -1
	case strings.HasPrefix(c.Text, "+"):
		return c, fmt.Errorf("%s: %q: to add write %s+=%s; a value has no plus", c.Input, c.Text, c.Input, c.Text[1:])
	}
	c.Input = strings.TrimRight(c.Input, "+- ")
	return c, nil
}

// Word is the sign word of a change: "+=", "-=", or nothing for one that sets.
func (c Change) Word() string {
	switch {
	case c.Sign > 0:
		return "+="
	case c.Sign < 0:
		return "-="
	}
	return ""
}

// WhatIf is the system with one input changed, see [Change]. A planned outlet
// pressure keeps its reserve over the computed one; consumption follows
// ethanol by energy. The system given is left alone.
func WhatIf(s System, change string) (System, error) {
	c, err := ParseChange(change)
	if err != nil {
		return System{}, fmt.Errorf("what-if %w", err)
	}
	i, err := findInput(c.Input)
	if err != nil {
		return System{}, fmt.Errorf("what-if %q: %w", change, err)
	}
	before := s
	s = s.clone()
	v, there := i.get(&s)
	if !there {
		return System{}, fmt.Errorf("what-if %q: the system has no %s", change, i.meaning)
	}
	next, err := i.next(c, v)
	if err != nil {
		return System{}, fmt.Errorf("what-if %s: %w", i.name, err)
	}
	i.set(&s, next)
	if i.name == "outlet" {
		return s, nil
	}
	return s.WithReserveOf(before), nil
}

// WithReserveOf is the system with an outlet pressure that lies as far over what
// the lines need as the lead's figure does in another: what a what-if keeps.
// With no figure there it has none either.
func (s System) WithReserveOf(before System) System {
	s.keep(before.lead())
	return s
}

// lead is the lead's outlet pressure: how far it lies over the computed one, and
// at which flow.
type lead struct {
	given   bool
	reserve quantity.Gauge
	flow    quantity.Flow
}

func (s System) lead() lead {
	if s.OutletPressure == 0 {
		return lead{}
	}
	p := planner{s: s}
	if inTurn(p.start, p.demand, p.pressures) != nil {
		return lead{}
	}
	return lead{true, max(0, p.r.Pressures.Outlet-p.r.Pressures.Computed), p.r.Pressures.FeedFlow}
}

// keep puts the reserve on top of what the changed lines need at the flow that
// it was put on before: a weaker pump, which pushes less through them, does not
// lower the lead's figure.
func (s *System) keep(l lead) {
	s.OutletPressure = 0
	if !l.given {
		return
	}
	p := planner{s: *s}
	if inTurn(p.start, p.demand, p.pressures) != nil {
		return
	}
	need, err := p.outletAt(max(l.flow, p.r.Demand.Volume))
	if err == nil {
		s.OutletPressure = max(p.r.Pressures.Computed, need) + l.reserve
	}
}

func (i input) next(c Change, v float64) (float64, error) {
	if c.Sign == 0 {
		return i.read(c.Text)
	}
	by, err := i.step(c.Text, v)
	return v + c.Sign*by, err
}
