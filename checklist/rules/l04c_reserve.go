package rules

import (
	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var reserveScale = floorScale{{0.10, schema.Flag}, {0.05, schema.Hold}}

var _ = register(Rule{
	ID: "L04c", Title: "proof of reserve at full load",
	What: "A perfect pull does not prove a reserve: with the regulator after the rail the pressure stays flat until no fuel goes back any more. One of three shows it: return flow at full load; a timed flow at the highest rail pressure and at no more volts than the pump has under load; " +
		"or the pump's command in a log, when its speed is controlled. It is asked for once a loaded pull was made.",
	Formula:  "return / (return + demand); timed flow / demand - 1; 1 - command",
	Limits:   "OK from 10 %, FLAG from 5 %, HOLD below and when none was shown. A shop may ask for more",
	Source:   "common practice",
	Means:    "Nobody knows how near the end of its supply the engine runs: a pump a quarter down can look healthy.",
	Next:     "Timed flow into a bonded container at base + boost, V-12, or the return flow under load.",
	Words:    Words{otherwise: {"the pulls do not say how much is in hand", "timed flow at base + boost and the volts of full load: feedproof read CAR flow volume=... time=... pressure=... volts=..."}},
	Envelope: true,
	Shop:     atLeastOwn[quantity.Fraction](reserveScale),
	Judge:    inVisit(judgeReserve),
})

func judgeReserve(c *state.Car) []schema.Finding {
	if !injected(c) || !pulled(c) {
		return nil
	}
	r, err := planning.Compute(c)
	if err != nil {
		return nil
	}
	s, limit := shopFloor[quantity.Fraction](c, "L04c", "at least 10 %, shown by return flow, timed flow or pump command", reserveScale)
	best := schema.Finding{
		Rule: "L04c", Subject: "reserve", Code: code.Unseen, Severity: schema.Hold, Limits: []schema.Bound{atLeast("reserve", quantity.Fraction(s[0].above))}, About: "proof of reserve", Measured: "none was shown", Limit: limit,
	}
	for _, shown := range []func(*state.Car, quantity.Flow) (reserve, bool){reserveByReturn, reserveByFlow, reserveByCommand} {
		if p, ok := shown(c, r.Demand.Volume); ok {
			f := best
			f.Severity, f.Code, f.Measured, f.Entries = s.grade(float64(p.share)), "", p.text, append(ids(p.entry), builtAs(c)...)
			f.Values = []schema.Amount{amount("reserve", p.share)}
			if f.Severity <= best.Severity {
				best = f
			}
		}
	}
	return []schema.Finding{best}
}

// pulled reports that a loaded pull was made since the last change.
func pulled(c *state.Car) bool {
	_, logged := lastPull(c, loadChanges...)
	r, ok := c.Last("load")
	if ok {
		_, gone := invalidated(c, r, loadChanges...)
		ok = !gone
	}
	return logged || ok
}

type reserve struct {
	share quantity.Fraction
	text  string
	entry schema.Entry
}

func reserveByReturn(c *state.Car, demand quantity.Flow) (reserve, bool) {
	r, _ := lastOf(c, "return", underLoad)
	if _, gone := invalidated(c, r, loadChanges...); gone {
		return reserve{}, false
	}
	back, ok := timed[quantity.Flow](r, "flow")
	if !ok {
		return reserve{}, false
	}
	share := quantity.Fraction(back / (back + demand))
	return reserve{share, percent(share) + " of the pump's flow goes back under load", r.Entry}, true
}

func reserveByFlow(c *state.Car, demand quantity.Flow) (reserve, bool) {
	t, _ := lastFlow(c)
	if t.trouble().is() || t.atFullLoad(c) != "" {
		return reserve{}, false
	}
	share := quantity.Fraction(t.flow/demand) - 1
	return reserve{share, t.String() + ", " + percent(share) + " over the demand of " + flow(demand), t.reading.Entry}, true
}

func reserveByCommand(c *state.Car, _ quantity.Flow) (reserve, bool) {
	l, ok := lastPull(c, loadChanges...)
	if !ok {
		return reserve{}, false
	}
	command, at, ok := logged[quantity.Fraction](l, logPumpCommand)
	return reserve{1 - command, "pump command " + percent(command) + at, l.Entry}, ok
}
