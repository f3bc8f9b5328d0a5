package rules

import (
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

// bounded judges one value of a test's last reading against a scale. It says
// nothing where there is no reading: hold points ask for those.
type bounded[Q quantity.Quantity] struct {
	rule, about, limit string // no limit: at most the first step of the scale
	test, value        string
	scale              scale           // of what Of gives
	of                 func(Q) float64 // how far it lies below the barometer; nil: the value itself, SI
	print              func(Q) string
	applies            func(*state.Car) bool // nil: always
	atLoad             bool                  // a reading at idle says nothing
	atIdle             bool                  // where more flows than under load, so that a pass under load is none
	changes            []string              // positions whose change voids the reading
}

func (b bounded[Q]) judge(c *state.Car) []schema.Finding {
	if c.Visit == nil || b.applies != nil && !b.applies(c) {
		return nil
	}
	r, ok := b.last(c)
	if !ok {
		return nil
	}
	if why, gone := invalidated(c, r, b.changes...); gone {
		return outdated(schema.Finding{Rule: b.rule, Subject: b.subject(), About: b.about, Limit: b.limits()}, why)
	}
	m, ok := read[Q](c, r, b.value)
	if !ok {
		return nil
	}
	x := float64(m.value)
	if b.of != nil {
		x = b.of(m.value)
	}
	s, limit := shopScale[Q](c, b.rule, b.limits(), b.scale)
	f := schema.Finding{
		Rule: b.rule, Subject: b.subject(), Values: []schema.Amount{asRead(b.value, m)}, Limits: []schema.Bound{b.bound(s)},
		About: b.about, Measured: b.print(m.value), Limit: limit, Entries: ids(r.Entry),
	}
	f = weigh(f, s, x, float64(m.u))
	if b.atIdle && underLoad(r) {
		return []schema.Finding{unproven(f, doubtful(code.UnderLoad))}
	}
	return decided(f, m.trouble)
}

func (b bounded[Q]) subject() string { return b.test + " " + b.value }

// bound is the first step of the scale: of a value that is how far it lies
// below the barometer, from below.
func (b bounded[Q]) bound(s scale) schema.Bound {
	if b.of != nil {
		return atLeast(b.value, Q(-s[0].above))
	}
	return atMost(b.value, Q(s[0].above))
}

func (b bounded[Q]) limits() string {
	if b.limit != "" {
		return b.limit
	}
	return "at most " + b.print(Q(b.scale[0].above))
}

func (b bounded[Q]) last(c *state.Car) (state.Reading, bool) {
	switch {
	case b.atLoad:
		return c.LastAtLoad(b.test)
	case b.atIdle:
		return lastBut(c, b.test, underLoad)
	}
	return c.Last(b.test)
}

// lastBut is the last reading of a test that is not such; if all are, the last.
func lastBut(c *state.Car, test string, unwanted func(state.Reading) bool) (state.Reading, bool) {
	if r, ok := lastOf(c, test, func(r state.Reading) bool { return !unwanted(r) }); ok {
		return r, true
	}
	return c.Last(test)
}

func lastOf(c *state.Car, test string, wanted func(state.Reading) bool) (state.Reading, bool) {
	for _, r := range slices.Backward(c.All(test)) {
		if wanted(r) {
			return r, true
		}
	}
	return state.Reading{}, false
}

func hoseOn(r state.Reading) bool { return r.Data.Conditions != nil && r.Data.Conditions.Hose == "on" }

func underLoad(r state.Reading) bool {
	return r.Data.Conditions != nil && r.Data.Conditions.Engine == "load"
}

// decided finishes a finding: a gauge that proves nothing makes it UNPROVEN.
func decided(f schema.Finding, trouble doubt) []schema.Finding {
	if trouble.is() {
		return []schema.Finding{unproven(f, trouble)}
	}
	return []schema.Finding{f}
}

// timed is for values read off a clock or counted: they need no gauge.
func timed[Q quantity.Quantity](r state.Reading, value string) (Q, bool) {
	v, ok := r.Value(value)
	if !ok {
		return 0, false
	}
	q, err := quantity.Of[Q](v.Written())
	return q, err == nil
}

// injected reports that the car has fuel injection, or that nobody said not.
func injected(c *state.Car) bool { return c.Vehicle.FuelSystem != "carburettor" && !c.Has("h") }

func carburetted(c *state.Car) bool { return !injected(c) }

// below is how far a pressure is below the barometer.
func below(q quantity.Gauge) float64 { return max(0, -float64(q)) }
