package rules

import (
	"fmt"

	"feedproof/checklist/car"
	"feedproof/schema"
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
	Judge:  judgeImpossible,
})

// bound says what a value of one quantity can be.
type bound func(quantity.Written) (measured, limit string, outside bool)

func between[Q quantity.Quantity](low, high Q, limit string) bound {
	return func(w quantity.Written) (string, string, bool) {
		q, err := quantity.Of[Q](w)
		if err != nil {
			return "", "", false
		}
		return quantity.Text(q), limit, exceeds(float64(low), float64(q)) || exceeds(float64(q), float64(high))
	}
}

func notBelowZero[Q quantity.Quantity](limit string) bound {
	return func(w quantity.Written) (string, string, bool) {
		q, err := quantity.Of[Q](w)
		return quantity.Text(q), limit, err == nil && q < 0
	}
}

var bounds = []bound{
	between(quantity.Absolute(1), 100*quantity.Bar, "above vacuum"),
	between(quantity.Gauge(-1.1*quantity.Bar), 1000*quantity.Bar, "at most an atmosphere below the barometer"),
	between(quantity.LEL(0), 1, "0 to 100 % LEL"),
	between(quantity.Celsius(-90), quantity.Celsius(1500), "-90 to 1500 degC"),
	between(quantity.Lambda(0.4), 3, "lambda 0.4 to 3"),
	notBelowZero[quantity.Duration]("not negative"),
	notBelowZero[quantity.Volume]("not negative"),
	notBelowZero[quantity.Length]("not negative"),
	notBelowZero[quantity.Flow]("not negative"),
	notBelowZero[quantity.Resistance]("not negative"),
	notBelowZero[quantity.Current]("not negative"),
	notBelowZero[quantity.Torque]("not negative"),
}

var (
	share   = between(quantity.Fraction(0), 1, "0 to 100 %")
	dutyCan = between(quantity.Fraction(0), 1.2, "0 to 120 %")
)

func judgeImpossible(c *car.Car) []schema.Finding {
	if c.Visit == nil {
		return nil
	}
	var found []schema.Finding
	for _, t := range schema.Tests {
		r, ok := c.Last(t.Name)
		if !ok {
			continue
		}
		for _, v := range r.Data.Values {
			if v.State == "" && v.Seen == "" {
				found = append(found, cannotBe(t.Name+" "+v.Name, v.Written(), r.Entry, share)...)
			}
		}
	}
	l, ok := lastPull(c, loadChanges...)
	for _, v := range l.Data.Worst {
		fraction := map[string]bound{logDuty: dutyCan, logPumpCommand: dutyCan, logEthanol: share}[v.Name]
		if lambdaOff := v.Name == logLean || v.Name == logRich; ok && !lambdaOff {
			found = append(found, cannotBe("log, "+v.Name, quantity.Written{Value: v.Value, Unit: v.Unit}, l.Entry, fraction)...)
		}
	}
	return found
}

func cannotBe(about string, w quantity.Written, e schema.Entry, fraction bound) []schema.Finding {
	all := bounds
	if fraction != nil {
		all = append([]bound{fraction}, bounds...)
	}
	for _, can := range all {
		if measured, limit, outside := can(w); outside {
			return []schema.Finding{{
				Rule: "X35", Severity: schema.Unproven, About: about, Measured: fmt.Sprintf("%s cannot be", measured), Limit: limit, Entries: ids(e),
				Means: "a slip, a wrong unit or reference, or a broken instrument", Next: "read it again, or correct the entry",
			}}
		}
	}
	return nil
}
