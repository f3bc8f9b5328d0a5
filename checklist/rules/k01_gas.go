package rules

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

// Gas limits, as fractions of the lower explosive limit after correction.
const (
	gasFindSource = 0.01 // common practice: find the source before opening
	gasStop       = 0.05 // common practice, half of the 10 % of 29 CFR 1910.146(b)
	gasEvacuate   = 0.10 // 29 CFR 1910.146(b): hazardous atmosphere above 10 % of the lower limit
	gasValid      = 60 * time.Minute
	gasOxygen     = quantity.Fraction(0.10) // common practice: least oxygen a catalytic sensor needs
	gasWorst      = 2.0                     // reading factor when the span gas is not known: heavy vapour on a methane calibration
)

var _ = register(Rule{
	ID: "K01", Title: "gas reading before a fuel joint is opened", Never: true,
	What: "Every opening of a fuel joint needs a combustible gas reading before it, at the floor and at work height, by a meter that is in calibration, " +
		"was bump tested the same day and was zeroed in clean air. It holds for 60 minutes, and only until the system was closed and tested again. " +
		"The last reading counts by itself too. A catalytic meter needs 10 % oxygen: below that it reads falsely low.",
	Formula: "corrected reading = reading x factor; factor from the span gas and the fuel, 2.0 when it is not known",
	Limits:  "below 1 % LEL to open; 1 % or more: find the source first; 5 % or more: stop work; 10 % or more: leave and ventilate",
	Source:  "10 %: 29 CFR 1910.146(b), hazardous atmosphere. 1 %, 5 %, 60 min, same-day bump test and the correction factor: common practice",
	Means:   "Vapour is heavier than air and lies on the floor. Without a reading nobody knew whether the bay was safe to open fuel in; a nose is not an instrument. It cannot be shown afterwards.",
	Next:    "Zero the meter in clean air, bump test it, read floor and work height, then open.",
	Words: Words{
		code.Dangerous: {"the air is hazardous", "everyone out, ventilate from outside, call the lead"},
		code.Outside:   {"too much vapour to work in", "stop, ventilate, take away every source of ignition, read again"},
		code.Vapour:    {"vapour is coming from somewhere", "find the source before anything is opened, then read again"},
		otherwise:      {"the bay was not shown free of vapour when the joint was opened", "read floor and work height before a joint is opened again; this opening cannot be shown afterwards"},
	},
	Judge: judgeGas,
})

func judgeGas(c *state.Car) []schema.Finding {
	var found []schema.Finding
	openings := c.ToProve()
	for i, o := range openings {
		f, proven := gasBefore(c, o)
		if late, ok := secondClass(c, o, gasBefore); !proven && ok {
			f = late
		} else if !proven {
			f.Severity = openingSeverity(c, openings, i, func(later state.Opening) bool { _, ok := gasBefore(c, later); return ok })
		}
		if f.Severity > schema.OK {
			found = append(found, f)
		}
	}
	return append(found, gasNow(c)...)
}

// gasNow judges the last gas reading by itself, when no opening rests on it:
// vapour in the bay stops the work whether a joint is opened or not.
func gasNow(c *state.Car) []schema.Finding {
	r, _ := c.Last("gas")
	if _, rests := c.OpenedAfter(r.Entry); rests {
		return nil
	}
	worst := worstGas(r)
	f := schema.Finding{Rule: "K01", Subject: "gas", About: "gas in the bay", Measured: quantity.Text(worst) + " corrected", Limit: "below 1 % LEL", Entries: ids(r.Entry)}
	f.Values, f.Limits = []schema.Amount{amount("gas", worst)}, gasLimit
	if f.Severity, f.Code = gasBand(float64(worst)); f.Severity > schema.OK {
		return []schema.Finding{f}
	}
	return nil
}

// gasBefore judges the last gas reading before an opening. It is not proven
// when there is none that holds.
func gasBefore(c *state.Car, o state.Opening) (schema.Finding, bool) {
	f := schema.Finding{
		Rule: "K01", Subject: o.Entry.ID, About: "gas before opening " + o.Joint, Limit: "read within 60 min before, below 1 % LEL",
		Values: []schema.Amount{called("joint", o.Joint)}, Limits: gasLimit,
	}
	r, ok := lastBefore(c, "gas", o.Entry)
	if !ok {
		return unshown(f, doubtful(code.GasUnread), o.Entry), false
	}
	if why := gasInvalid(c, r, o); why.is() {
		return unshown(f, why, o.Entry, r.Entry), false
	}
	worst := worstGas(r)
	f.Entries, f.Measured, f.Values = ids(o.Entry, r.Entry), fmt.Sprintf("%s corrected", quantity.Text(worst)), append(f.Values, amount("gas", worst))
	f.Severity, f.Code = gasBand(float64(worst))
	return f, true
}

var gasLimit = []schema.Bound{atMost("gas", quantity.LEL(gasFindSource))}

func gasInvalid(c *state.Car, r state.Reading, o state.Opening) doubt {
	age := o.Entry.At.Sub(r.Entry.At)
	switch {
	case closedBetween(c, r.Entry, o.Entry):
		return doubtful(code.Retested)
	case age > gasValid || age < 0:
		return doubtful(code.Late, inMinutes("age", age))
	}
	for _, name := range []string{"floor", "work"} {
		v, ok := r.Value(name)
		if !ok {
			return doubtful(code.Partial, called("missing", map[string]string{"floor": "the floor", "work": "work height"}[name]))
		}
		if why := meterTrouble(c, r, v); why.is() {
			return why
		}
	}
	return doubt{}
}

// meterTrouble is why a gas meter proves nothing.
func meterTrouble(c *state.Car, r state.Reading, v schema.Value) doubt {
	if v.Gauge == nil {
		return doubtful(code.Unmetered)
	}
	return firstOf(gaugeTrouble(c, r, *v.Gauge), bumpTrouble(r, *v.Gauge), oxygenTrouble(r, *v.Gauge))
}

// oxygenTrouble says that the air held too little oxygen for the meter. A
// sensor whose principle is not known counts as catalytic.
func oxygenTrouble(r state.Reading, g schema.GaugeSnapshot) doubt {
	oxygen, ok := timed[quantity.Fraction](r, "oxygen")
	infrared := g.Sensor != "" && g.Sensor != "catalytic"
	if !ok || infrared || !exceeds(float64(gasOxygen), float64(oxygen)) {
		return doubt{}
	}
	return doubtful(code.Starved, asPrinted("oxygen", oxygen), called("gauge", g.Gauge))
}

func bumpTrouble(r state.Reading, g schema.GaugeSnapshot) doubt {
	switch date, _, dated := strings.Cut(g.Bumped, "T"); {
	case state.Bumped(g, r.Entry.At):
		return doubt{}
	case dated:
		return doubtful(code.BumpedBefore, called("gauge", g.Gauge), called("bumped", date))
	}
	return doubtful(code.Unbumped, called("gauge", g.Gauge))
}

// worstGas is the highest reading of the occasion, corrected for the span gas.
func worstGas(r state.Reading) quantity.LEL {
	var worst quantity.LEL
	for _, v := range r.Data.Values {
		value, err := quantity.Of[quantity.LEL](v.Written())
		if err != nil {
			continue
		}
		worst = max(worst, value*quantity.LEL(gasFactor(v.Gauge)))
	}
	return worst
}

func gasFactor(g *schema.GaugeSnapshot) float64 {
	if g == nil {
		return gasWorst
	}
	if factor, _ := strconv.ParseFloat(g.Factor, 64); factor > 0 {
		return factor
	}
	return gasWorst
}

func gasBand(x float64) (schema.Severity, code.Code) {
	switch {
	case !exceeds(gasEvacuate, x):
		return schema.Stop, code.Dangerous
	case !exceeds(gasStop, x):
		return schema.Stop, code.Outside
	case !exceeds(gasFindSource, x):
		return schema.Hold, code.Vapour
	}
	return schema.OK, code.Within
}
