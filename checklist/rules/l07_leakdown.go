package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var leakDownScale = scale{{0.35 * quantity.Bar, schema.Flag}, {0.70 * quantity.Bar, schema.Hold}}

const (
	leakDownTime = quantity.Duration(5 * quantity.Minute)
	heldShare    = 0.60 // of base, after 10 min
)

var _ = register(Rule{
	ID: "L07", Title: "leak-down after the pump stops",
	What:    "The fall of rail pressure in 5 minutes after the pump stops, cold, with a check valve in the pump. Without a check valve it falls in seconds by design and this test does not apply. A rise after a hot stop is not scored.",
	Formula: "fall = start - end; U = 0.3 U(gauge) + half a division where one gauge read both, else hypot of both",
	Limits:  "OK to 0.35 bar (5.1 psi), FLAG to 0.70 bar, HOLD beyond; where it was read after 10 min too, FLAG below 60 % of base",
	Source:  "common practice",
	Means:   "Fuel goes back through the check valve or the regulator, or out through an injector.",
	Next:    "Clamp the return: holds, it is the regulator. Clamp the feed: holds, it is the check valve. Neither: injectors.",
	Words: Words{
		code.Missing: {"nothing shows it yet", "stop the pump, read at once and after 5 min: feedproof read CAR leak-down start=... end=... time=5min"},
		code.Changed: {"nothing shows it yet", "{changed} changed after it: do it again"},
		code.Hot:     {"warm fuel expands after a hot stop", "do it cold"},
		code.Outside: {leaksInside, "clamp return, then feed, to see which"},
		code.Weak:    {leaksInside, "clamp return, then feed, to see which"},
	},
	Shop:  atMostOwn[quantity.Difference](leakDownScale),
	Judge: inVisit(judgeLeakDown),
})

const leaksInside = "pressure gets away inside: check valve, regulator or an injector"

func judgeLeakDown(c *state.Car) []schema.Finding {
	if !injected(c) || noCheckValve(c) {
		return nil
	}
	limit := "falls at most " + bar(quantity.Difference(leakDownScale[0].above)) + " in 5 min"
	r, ok, found := coldLeakDown(c)
	if !ok {
		return append(found, lacking(schema.Finding{Rule: "L07", Subject: "leak-down", About: "leak-down", Limit: limit}, code.Missing)...)
	}
	return append(found, leakDownFinding(c, r, limit)...)
}

// coldLeakDown is the last leak-down in which pressure did not rise. After a
// hot stop it rises first while the fuel warms, which shows nothing: a NOTE.
func coldLeakDown(c *state.Car) (cold state.Reading, ok bool, hot []schema.Finding) {
	all := c.All("leak-down")
	for i := len(all) - 1; i >= 0; i-- {
		start, ok1 := read[quantity.Gauge](c, all[i], "start")
		end, _ := read[quantity.Gauge](c, all[i], "end")
		if !ok1 || !exceeds(float64(end.value), float64(start.value+start.diff)) {
			return all[i], true, hot
		}
		hot = append(hot, schema.Finding{
			Rule: "L07", Subject: all[i].Entry.ID, Code: code.Hot, Severity: schema.Note, Values: []schema.Amount{amount("rise", end.value.Minus(start.value))}, About: "leak-down when hot", Measured: "rose " + bar(end.value.Minus(start.value)), Limit: "not judged",
			Entries: ids(all[i].Entry),
		})
	}
	return state.Reading{}, false, hot
}

func leakDownFinding(c *state.Car, r state.Reading, limit string) []schema.Finding {
	f := schema.Finding{Rule: "L07", Subject: "leak-down", About: "leak-down", Limit: limit}
	if why, gone := invalidated(c, r, "pump", "regulator", "injectors"); gone {
		return outdated(f, why)
	}
	s, limit := shopScale[quantity.Difference](c, "L07", limit, leakDownScale)
	start, ok1 := read[quantity.Gauge](c, r, "start")
	end, ok2 := read[quantity.Gauge](c, r, "end")
	v, _ := r.Value("time")
	time, err := quantity.Of[quantity.Duration](v.Written())
	if !ok1 || !ok2 || err != nil {
		return lacking(f, code.Incomplete)
	}
	fall, u := start.value.Minus(end.value), apart(start, end)
	f.Measured, f.Limit, f.Entries = "fell "+bar(fall)+" in "+quantity.Format(time, "min", 1), limit, ids(r.Entry)
	f.Values, f.Limits = []schema.Amount{give("fall", fall, u), amount("time", time)}, []schema.Bound{atMost("fall", quantity.Difference(s[0].above))}
	f = weigh(f, s, max(0, float64(fall)), u)
	if late, ok := read[quantity.Gauge](c, r, "end10"); ok && lostBase(c, late) {
		if f.Severity < schema.Flag {
			f.Severity, f.Code = schema.Flag, code.Weak
		}
		f.Values = append(f.Values, asRead("after 10 min", late))
		f.Measured += ", and to " + bar(late.value) + " in 10 min"
	}
	if exceeds(float64(leakDownTime), float64(time)) {
		return []schema.Finding{unproven(f, doubtful(code.Brief, schema.Amount{Name: "least", Value: "5", Unit: "min"}))}
	}
	return decided(f, firstOf(start.trouble, end.trouble))
}

// noCheckValve reports that the fitted pump is known to have no check valve.
func noCheckValve(c *state.Car) bool {
	pump, _ := c.Pump()
	return pump.CheckValve == schema.No
}

// lostBase reports that less than 60 % of base is left after 10 min.
func lostBase(c *state.Car, left measured[quantity.Gauge]) bool {
	base, _ := c.Base()
	return exceeds(heldShare*float64(base), float64(left.value+left.u))
}
