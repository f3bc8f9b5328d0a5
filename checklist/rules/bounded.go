package rules

import (
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// bounded judges one value of a test's last reading against a scale. It says
// nothing where there is no reading: hold points ask for those.
type bounded[Q quantity.Quantity] struct {
	rule, about, limit string // no limit: at most the first step of the scale
	test, value        string
	scale              scale           // of what Of gives
	of                 func(Q) float64 // nil: the value itself, SI
	print              func(Q) string
	means, next        string
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
		return missing(b.rule, b.about, b.limits(), why+": read it again")
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
		Rule: b.rule, Severity: s.decide(x, float64(m.u)), About: b.about, Measured: b.print(m.value), Limit: limit,
		Means: b.means, Next: b.next, Entries: ids(r.Entry),
	}
	if b.atIdle && underLoad(r) {
		return []schema.Finding{unproven(f, "it was read under load")}
	}
	return decided(f, m.trouble)
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

// decided finishes a finding: a gauge that proves nothing makes it UNPROVEN,
// and an UNPROVEN by uncertainty says so.
func decided(f schema.Finding, trouble string) []schema.Finding {
	if trouble != "" {
		return []schema.Finding{unproven(f, trouble)}
	}
	if f.Severity == schema.Unproven {
		f.Means, f.Next = "the instrument is too coarse to tell", "read again with a finer one"
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
