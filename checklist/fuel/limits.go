package fuel

import (
	"fmt"
	"math"
	"strings"

	"feedproof/schema/quantity"
)

// Criteria are the limits under which a system counts as feeding its engine.
type Criteria struct {
	Margin     quantity.Fraction   // least delivery over demand
	Effective  quantity.Fraction   // most injector duty without dead time
	Commanded  quantity.Fraction   // most injector duty
	Shortfall  quantity.Difference // most an injector's pressure difference may fall under the regulated one
	Velocity   quantity.Speed      // most in the feed line
	Suction    quantity.Speed      // most in a suction line
	Lift       quantity.Fraction   // least lift flow over demand
	Lost       quantity.Voltage    // most between source and pump
	Relief     quantity.Difference // least relief over outlet pressure
	HoseRatio  quantity.Fraction   // least hose rating over outlet pressure
	ReturnBack quantity.Gauge      // most back-pressure at idle
}

// Planning criteria by the share of ethanol. Common practice and shop limits.
func criteria(ethanol quantity.Fraction) Criteria {
	c := Criteria{Margin: 1.20, Effective: 0.80, Commanded: 0.85, Shortfall: 0.10 * quantity.Bar, Velocity: 3, Suction: 1.0, Lift: LiftMargin,
		Lost: 0.5, Relief: 0.5 * quantity.Bar, HoseRatio: 2, ReturnBack: 0.20 * quantity.Bar}
	if ethanol > 0.5 {
		c.Margin = 1.25
	}
	return c
}

// PlanningCriteria for a system: margin 1.20, or 1.25 above 50 % ethanol;
// effective duty 80 %, commanded 85 %; 0.10 bar across the injectors; 3 m/s in
// the feed and 1 m/s in suction; lift 1.25; 0.5 V; relief 0.5 bar above; hose
// rated twice; 0.20 bar in the return. Common practice and shop limits.
func PlanningCriteria(s System) Criteria { return criteria(s.Fuel.EthanolMax) }

// Limit is what one item allows.
type Limit struct {
	Item   string
	Power  quantity.Power // stated power at which it gives out; zero when it does not depend on power
	Ends   string         // why nothing is known beyond Power, where it still holds there
	Always bool           // it does not depend on power at this manifold pressure
	OK     bool           // at the system's own power
	Room   float64        // left to the limit, in SI; under zero beyond it
	Value  string         // at the system's own power
	Limit  string
}

// Support is how much power a system carries and what stops it.
type Support struct {
	Power    quantity.Power // the lowest of the items that depend on power
	Limiting string
	Ends     string // why nothing is known beyond Power, where nothing gives out there
	Items    []Limit
	Failed   []string // items that do not depend on power and are outside their limit
}

// SupportedPower finds for every item the stated power at which it gives out
// at the same manifold pressure, speed and consumption, and the first of them.
// Where a curve ends before that, the item is known to hold so far and no
// further.
func SupportedPower(s System, c Criteria) (Support, error) {
	at, err := Plan(s)
	if err != nil {
		return Support{}, err
	}
	out := Support{Items: Checks(s, at, c)}
	for i := range out.Items {
		l := &out.Items[i]
		if l.Always {
			if !l.OK {
				out.Failed = append(out.Failed, l.Item)
			}
			continue
		}
		item, _ := find(l.Item)
		l.Power, l.Ends = item.gives(s, item.limit(s, at, c))
		if out.Limiting == "" || l.Power < out.Power {
			out.Power, out.Limiting, out.Ends = l.Power, l.Item, l.Ends
		}
	}
	return out, nil
}

// Checks holds every item of a plan against its limit, at the plan's own
// power: first those that power decides.
func Checks(s System, r Result, c Criteria) []Limit {
	var out []Limit
	for k, items := range [][]item{rising, steady} {
		for _, i := range items {
			value, there := i.value(s, r)
			if !there {
				continue
			}
			limit := i.limit(s, r, c)
			out = append(out, Limit{Item: i.name, Always: k > 0, OK: i.under(value, limit), Room: i.headroom(value, limit), Value: i.text(value), Limit: i.text(limit)})
		}
	}
	return out
}

func find(name string) (item, bool) {
	for _, i := range rising {
		if i.name == name {
			return i, true
		}
	}
	return item{}, false
}

// item is one thing that can give out: a value of a plan and its limit.
type item struct {
	name    string
	least   bool // the limit is the least, not the most
	network bool // needs the network solved
	value   func(System, Result) (float64, bool)
	limit   func(System, Result, Criteria) float64
	text    func(float64) string
}

func (i item) under(value, limit float64) bool {
	if i.least {
		return value >= limit
	}
	return value <= limit
}

// headroom is above zero while the item holds.
func (i item) headroom(value, limit float64) float64 {
	if i.least {
		return value - limit
	}
	return limit - value
}

// Powers between which the end of an item is looked for, of the stated power.
const (
	leastPower = 0.02
	mostPower  = 10
)

// gives is the stated power at which an item reaches its limit, looked for from
// the stated power on: upwards while the item holds, else downwards. A power at
// which no plan can be made, such as one past a curve's end, is no limit: the
// last one that can be planned is given, with the reason.
func (i item) gives(s System, limit float64) (quantity.Power, string) {
	s = s.clone()
	stated := s.Engine.Power
	why := ""
	room := func(scale quantity.Fraction) float64 {
		s.Engine.Power = stated * quantity.Power(scale)
		p := planner{s: s, quick: true, whole: i.network}
		r, err := p.run()
		if err != nil {
			why = err.Error()
			return math.NaN()
		}
		v, _ := i.value(s, r)
		return i.headroom(v, limit)
	}
	toward := quantity.Fraction(mostPower)
	if !(room(1) >= 0) {
		toward = leastPower
	}
	end, found := reach(1, toward, room)
	if !found {
		return stated * quantity.Power(end), why
	}
	return stated * quantity.Power(crossing(min(1, end), max(1, end), room)), ""
}

// reach goes from a place towards another as far as f has a value and keeps its
// sign. It is found when f has a value at the other place, or changes its sign
// on the way.
func reach(from, to quantity.Fraction, f func(quantity.Fraction) float64) (end quantity.Fraction, found bool) {
	positive := f(from) >= 0
	if !math.IsNaN(f(to)) {
		return to, true
	}
	good, bad := from, to
	for math.Abs(float64(good-bad)) > 1e-4*float64(from) {
		middle := (good + bad) / 2
		v := f(middle)
		switch {
		case math.IsNaN(v):
			bad = middle
		case (v >= 0) == positive:
			good = middle
		default:
			return middle, true
		}
	}
	return good, false
}

func asFraction(v float64) string   { return fmt.Sprintf("%.2f", v) }
func asPercent(v float64) string    { return quantity.Format(quantity.Fraction(v), "%", 1) }
func asDifference(v float64) string { return quantity.Format(quantity.Difference(v), "bar", 2) }
func asVapour(v float64) string     { return quantity.Format(quantity.Difference(v), "kPa", 1) }
func asSpeed(v float64) string      { return quantity.Format(quantity.Speed(v), "m/s", 2) }
func asVoltage(v float64) string    { return quantity.Format(quantity.Voltage(v), "V", 2) }
func asSeconds(v float64) string    { return quantity.Format(quantity.Duration(v), "s", 1) }
func asPulse(v float64) string      { return quantity.Format(quantity.Duration(v), "ms", 2) }
func asLength(v float64) string     { return quantity.Format(quantity.Length(v), "mm", 0) }

// of is a limit that the criteria set.
func of(pick func(Criteria) float64) func(System, Result, Criteria) float64 {
	return func(_ System, _ Result, c Criteria) float64 { return pick(c) }
}

// at is a limit that is always the same.
func at(v float64) func(System, Result, Criteria) float64 {
	return func(System, Result, Criteria) float64 { return v }
}

// Names of the items that rules of their own judge.
const (
	ItemPump   = "pump"
	ItemDuty   = "injector duty"
	ItemRelief = "pump relief"
	ItemHose   = "hose rating"

	ItemDrySpell  = "surge tank in a dry spell"
	ItemPickUp    = "pick-up in the corner"
	ItemReservoir = "reservoir"
)

// rising are the items that get worse as power rises.
var rising = []item{
	{ItemPump, true, false, func(_ System, r Result) (float64, bool) { return float64(r.Delivery.Margin), true },
		of(func(c Criteria) float64 { return float64(c.Margin) }), asFraction},
	{ItemDuty, false, false, func(_ System, r Result) (float64, bool) {
		return injection(r, func(i *Injection) float64 { return float64(i.Worst) })
	}, of(func(c Criteria) float64 { return float64(c.Effective) }), asPercent},
	{"injector commanded duty", false, false, func(_ System, r Result) (float64, bool) {
		return injection(r, func(i *Injection) float64 { return float64(i.Commanded) })
	}, of(func(c Criteria) float64 { return float64(c.Commanded) }), asPercent},
	{"pressure across the injectors", false, true, shortfall, of(func(c Criteria) float64 { return float64(c.Shortfall) }), asDifference},
	{"lift pump", true, false, func(_ System, r Result) (float64, bool) {
		if r.Surge == nil {
			return 0, false
		}
		return float64(r.Surge.Margin), true
	}, of(func(c Criteria) float64 { return float64(c.Lift) }), asFraction},
	{"needle seats", true, false, func(_ System, r Result) (float64, bool) {
		if r.Carburetted == nil {
			return 0, false
		}
		return float64(r.Carburetted.SeatMargin), true
	}, of(func(c Criteria) float64 { return float64(c.Margin) }), asFraction},
	{"feed line velocity", false, false, func(_ System, r Result) (float64, bool) { return float64(r.Velocities.Feed), true },
		of(func(c Criteria) float64 { return float64(c.Velocity) }), asSpeed},
	{ItemDrySpell, true, false, func(_ System, r Result) (float64, bool) {
		if r.Surge == nil {
			return 0, false
		}
		return float64(r.Surge.Endurance), true
	}, func(s System, _ Result, _ Criteria) float64 { return float64(s.Surge.Dry) }, asSeconds},
}

func injection(r Result, of func(*Injection) float64) (float64, bool) {
	if r.Injection == nil {
		return 0, false
	}
	return of(r.Injection), true
}

// shortfall is how far the worst injector's pressure lies under the regulated one.
func shortfall(s System, r Result) (float64, bool) {
	if r.Injection == nil || r.Hydraulics == nil {
		return 0, false
	}
	return float64(s.Regulator.Across(r.Manifold, r.Barometer) - r.Hydraulics.Full.Lowest), true
}

// ReservoirLeast is the least time that a reservoir round the pick-up must last
// at full load: a long corner (common practice).
const ReservoirLeast quantity.Duration = 6

// steady are the items that the manifold pressure decides, not the power.
var steady = []item{
	{"voltage lost", false, false, func(_ System, r Result) (float64, bool) { return float64(r.Electrical.Lost), r.Electrical.Lost > 0 },
		of(func(c Criteria) float64 { return float64(c.Lost) }), asVoltage},
	{ItemRelief, true, false, func(_ System, r Result) (float64, bool) { return float64(r.Distances.Relief), r.Distances.ReliefKnown },
		of(func(c Criteria) float64 { return float64(c.Relief) }), asDifference},
	{ItemHose, true, false, func(_ System, r Result) (float64, bool) { return float64(r.Distances.HoseRatio), r.Distances.HoseKnown },
		of(func(c Criteria) float64 { return float64(c.HoseRatio) }), asFraction},
	{"regulator rating", false, false, func(s System, r Result) (float64, bool) { return float64(r.Highest.Rail), s.Regulator.Rating > 0 },
		func(s System, _ Result, _ Criteria) float64 { return float64(s.Regulator.Rating) }, asDifference},
	{"injector opening pressure", false, false, highestAcross,
		func(s System, _ Result, _ Criteria) float64 { return float64(s.Injectors.OpensUpTo) }, asDifference},
	{"idle pulse", true, false, func(_ System, r Result) (float64, bool) {
		if r.Injection == nil || r.Injection.Idle == nil {
			return 0, false
		}
		return float64(r.Injection.Idle.Effective), true
	}, func(_ System, r Result, _ Criteria) float64 { return float64(r.Injection.Idle.Smallest) }, asPulse},
	{"return at idle", false, false, func(_ System, r Result) (float64, bool) {
		if r.Idle == nil {
			return 0, false
		}
		return float64(r.Idle.BackPressure), true
	}, of(func(c Criteria) float64 { return float64(c.ReturnBack) }), asDifference},
	{"suction velocity", false, false, func(_ System, r Result) (float64, bool) { return float64(r.Velocities.Suction), r.Suction != nil },
		of(func(c Criteria) float64 { return float64(c.Suction) }), asSpeed},
	{"vapour", true, false, func(_ System, r Result) (float64, bool) {
		if r.Vapour == nil || !r.Vapour.Known || r.Vapour.Pressure == 0 {
			return 0, false
		}
		return float64(r.Vapour.Margin), true
	}, at(float64(VapourReserve)), asVapour},
	{ItemPickUp, true, false, func(s System, r Result) (float64, bool) {
		if r.Tank == nil || r.Tank.Slosh == nil || s.Tank.Reservoir > 0 || s.Surge != nil {
			return 0, false
		}
		return float64(r.Tank.Slosh.Wetted - s.Tank.PickUp), true
	}, at(0), asLength},
	{ItemReservoir, true, false, func(_ System, r Result) (float64, bool) {
		if r.Tank == nil || r.Tank.Endurance == 0 {
			return 0, false
		}
		return float64(r.Tank.Endurance), true
	}, at(float64(ReservoirLeast)), asSeconds},
}

// highestAcross is the most pressure that an injector opens against in any of
// the solved states.
func highestAcross(s System, r Result) (float64, bool) {
	if s.Injectors == nil || s.Injectors.OpensUpTo == 0 {
		return 0, false
	}
	most := r.Pressures.Across
	for _, state := range r.States {
		most = max(most, state.Operation.Highest)
	}
	return float64(most), true
}

// Lever is what changing one part would buy.
type Lever struct {
	Change   string // as [WhatIf] takes it
	Support  Support
	Gain     quantity.Power // of supported power
	Possible bool           // false when no plan can be made with it
	Why      string         // then
}

// levers are the changes a shop would think of first.
var levers = []string{"pump-flow+=25 %", "voltage+=0.5 V", "wire-area+=50 %", "injector-flow+=25 %", "base+=0.5 bar", "feed-bore+=25 %", "feed-loss-=50 %", "ethanol-=10 %", "boost-=0.2 bar"}

// Advise tries the usual changes one by one and says what each would buy.
// Changes of parts the system does not have are left out.
func Advise(s System, c Criteria) (Support, []Lever, error) {
	now, err := SupportedPower(s, c)
	if err != nil {
		return Support{}, nil, err
	}
	var out []Lever
	for _, change := range levers {
		changed, err := WhatIf(s, change)
		if err != nil || !touches(s, changed, change) {
			continue
		}
		then, err := SupportedPower(changed, c)
		if err != nil {
			out = append(out, Lever{Change: change, Why: err.Error()})
			continue
		}
		out = append(out, Lever{Change: change, Support: then, Gain: then.Power - now.Power, Possible: true})
	}
	return now, out, nil
}

// touches leaves out changes of what a system does not have: wire where the
// voltage was measured, a rail, boost, ethanol.
func touches(before, after System, change string) bool {
	switch name, _, _ := strings.Cut(change, "="); strings.TrimRight(name, "+-") {
	case "wire-area":
		return before.Supply.Terminal == 0
	case "base":
		return before.Injectors != nil
	case "boost":
		over, ok := boost(&after)
		return ok && over > 0
	case "ethanol":
		return after.Fuel.EthanolMax >= 0
	}
	return true
}

// String is the limit in a line.
func (l Limit) String() string {
	if l.Always {
		return fmt.Sprintf("%s: %s, limit %s", l.Item, l.Value, l.Limit)
	}
	if l.Ends != "" {
		return fmt.Sprintf("%s: %s, limit %s, not known beyond %s: %s", l.Item, l.Value, l.Limit, quantity.Text(l.Power), l.Ends)
	}
	return fmt.Sprintf("%s: %s, limit %s, gives out at %s", l.Item, l.Value, l.Limit, quantity.Text(l.Power))
}
