package rules

import (
	"math"
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "X35", Title: "a number that cannot be",
	What: "Values of the last reading of each test, and of the last loaded log, that no instrument can show: an absolute pressure at or below vacuum, a gauge pressure more than an atmosphere below the barometer, a share below 0 or above 100 %, " +
		"gas below 0 or above 100 % LEL, a temperature below -90 or above 1500 degC, lambda outside 0.4 to 3, a duty above 120 %, a negative time, volume, length, flow, resistance, current or torque. The value is kept as it was written.",
	Limits: "what is possible",
	Source: "definitions; the widest air temperatures and the glow of an exhaust; lambda as wide-band sensors show it: common practice",
	Means:  "A slip, a wrong unit or reference, or a broken instrument. What rests on it proves nothing.",
	Next:   "Read it again, or correct the entry.",
	Words:  Words{code.Impossible: {"a slip, a wrong unit or reference, or a broken instrument", "read it again, or correct the entry"}},
	Judge:  inVisit(judgeImpossible),
})

// bound says what a value of one quantity can be.
type bound struct {
	of    quantity.Dimension
	limit string
	judge func(quantity.Written) (read schema.Amount, outside bool)
}

func between[Q quantity.Quantity](low, high Q, limit string) bound {
	return bound{low.Dimension(), limit, func(w quantity.Written) (schema.Amount, bool) {
		q, err := quantity.Of[Q](w)
		if err != nil || !exceeds(float64(low), float64(q)) && !exceeds(float64(q), float64(high)) {
			return schema.Amount{}, false
		}
		return asPrinted("written", q), true
	}}
}

func notNegative[Q quantity.Quantity]() bound {
	return between(0, Q(math.Inf(1)), "not negative")
}

var (
	share   = between(quantity.Fraction(0), 1, "0 to 100 %")
	dutyCan = between(quantity.Fraction(0), 1.2, "0 to 120 %")
	bounds  = []bound{
		share,
		between(quantity.Absolute(1), quantity.Absolute(100*quantity.Bar), "above vacuum"),
		between(quantity.Gauge(-1.1*quantity.Bar), quantity.Gauge(1000*quantity.Bar), "at most an atmosphere below the barometer"),
		between(quantity.LEL(0), 1, "0 to 100 % LEL"),
		between(quantity.Celsius(-90.0), quantity.Celsius(1500.0), "-90 to 1500 degC"),
		between(quantity.Lambda(0.4), 3, "lambda 0.4 to 3"),
		notNegative[quantity.Duration](), notNegative[quantity.Volume](), notNegative[quantity.Length](), notNegative[quantity.Flow](),
		notNegative[quantity.Resistance](), notNegative[quantity.Current](), notNegative[quantity.Torque](),
	}
	logBounds = map[string]bound{logDuty: dutyCan, logPumpCommand: dutyCan, logEthanol: share}
)

func judgeImpossible(c *state.Car) []schema.Finding {
	var found []schema.Finding
	for _, t := range schema.Readings {
		r, ok := c.Last(t.Name)
		if !ok {
			continue
		}
		for _, v := range r.Data.Values {
			for _, b := range boundsOf(t, v) {
				found = append(found, b.cannotBe(t.Name+" "+v.Name, t.Name+" "+v.Name, v.Written(), r.Entry)...)
			}
		}
	}
	if l, ok := lastPull(c, loadChanges...); ok {
		for _, v := range l.Data.Worst {
			if b, bounded := logBounds[v.Name]; bounded {
				found = append(found, b.cannotBe(inLog(v.Name), "log, "+v.Name, quantity.Written{Value: v.Value, Unit: v.Unit}, l.Entry)...)
			}
		}
	}
	return numbered(found)
}

// boundsOf are the bounds of what a value of a test is measured in.
func boundsOf(t schema.Reading, v schema.Value) []bound {
	i := slices.IndexFunc(t.Values, func(tv schema.ReadingValue) bool { return tv.Name == v.Name })
	if i < 0 {
		return nil
	}
	var out []bound
	for _, b := range bounds {
		if slices.Contains(t.Values[i].Accepts, b.of) {
			out = append(out, b)
		}
	}
	return out
}

func (b bound) cannotBe(subject, about string, w quantity.Written, e schema.Entry) []schema.Finding {
	read, outside := b.judge(w)
	if !outside {
		return nil
	}
	return []schema.Finding{{
		Rule: "X35", Subject: subject, Code: code.Impossible, Severity: schema.Unproven, Values: []schema.Amount{read}, About: about, Measured: read.Value + " " + read.Unit + " cannot be", Limit: b.limit, Entries: ids(e),
	}}
}
