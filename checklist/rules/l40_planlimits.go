package rules

import (
	"slices"
	"strconv"

	"feedproof/checklist/fuel"
	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "L40", Title: "everything else that the plan is short of",
	What: "Each row of the plan page that stands outside its limit and that no rule of its own judges: commanded duty, pressure across the injectors, lift pump, needle seats, the smallest injector's duty, velocities, volts lost, regulator rating, opening pressure, idle pulse, return at idle and vapour. " +
		"Also what was given and cannot be computed, where a return line or its end was not said, and a consumption that is hardly that of the named fuel.",
	Formula: "each as on the plan page: feedproof plan CAR",
	Limits:  "inside: nothing is said; outside: FLAG; a lift pump that brings less than the main pump takes out, a return that the regulator cannot hold against, fuel that boils: HOLD; not said or not computable: not proven",
	Source:  "common practice",
	Means:   "The plan is computed with it, and something in it does not fit.",
	Next:    "Change the part, or lower the envelope; ask with feedproof plan CAR --what-if ...",
	Words: Words{
		code.Outside:                 {"the plan is outside its limit here", "another part or a lower envelope: feedproof plan CAR --what-if ..."},
		code.Uncomputed:              {"something was given that the plan could not use", "complete it: feedproof plan CAR ..."},
		code.Unknown + " return":     {"it is computed with the regulator in the tank, as without a return", "give --return-bore and --return-length, or --return-bore na:WHY where the regulator sits in the tank"},
		code.Unknown + " return end": {"the worse one is taken: it ends in the tank, and the lift pump must bring all that the main pump moves", "say --surge-return \"surge tank\" or tank"},
		" consumption":               {"it may be that of another fuel, and the demand wrong by as much", "ask on which fuel it was measured: --bsfc \"0.36 kg/kWh on 10 %\""},
	},
	Envelope: true,
	Judge:    inVisit(judgePlanLimits),
})

// byOtherRule reports an item that a rule of its own judges. L02 judges the mean
// of the injectors; where that is inside, the smallest of them may not be.
func byOtherRule(l fuel.Limit, r fuel.Result, c fuel.Criteria) bool {
	if l.Item == fuel.ItemDuty {
		return r.Injection.Effective > c.Effective
	}
	return slices.Contains([]string{fuel.ItemPump, fuel.ItemRelief, fuel.ItemHose, fuel.ItemDrySpell, fuel.ItemPickUp, fuel.ItemReservoir}, l.Item)
}

func judgePlanLimits(c *state.Car) []schema.Finding {
	if c.Plan == nil {
		return nil
	}
	return append(unsaid(c), bothWays(c, func(w way) []schema.Finding {
		s, err := w.system(c)
		if err != nil || w.err != nil { // L01 says so
			return nil
		}
		return outside(c, s, w)
	})...)
}

func outside(c *state.Car, s fuel.System, w way) []schema.Finding {
	var found []schema.Finding
	r := w.result
	criteria := fuel.PlanningCriteria(s)
	for _, l := range fuel.Checks(s, r, criteria) {
		if l.OK || byOtherRule(l, r, criteria) {
			continue
		}
		f := w.finding(c, "L40", l.Item, l.Item, l.Limit)
		f.Severity, f.Measured, f.Values = planSeverity(l, r), l.Value+planState(l, r), []schema.Amount{called("value", l.Value)}
		found = append(found, f)
	}
	for i, text := range r.Unread {
		subject := "not computed"
		if i > 0 {
			subject += " " + strconv.Itoa(i+1)
		}
		f := w.finding(c, "L40", subject, "not computed", "computed")
		f.Severity, f.Code, f.Measured, f.Values = schema.Unproven, code.Uncomputed, text, []schema.Amount{called("what", text)}
		found = append(found, f)
	}
	return found
}

func planSeverity(l fuel.Limit, r fuel.Result) schema.Severity {
	switch {
	case l.Item == "lift pump" && r.Surge.Margin < 1, l.Item == "return at idle" && !r.Idle.Holds, l.Item == "vapour" && r.Vapour.Margin < 0:
		return schema.Hold
	}
	return schema.Flag
}

// planState names the state that an item was worst in, where it has one.
func planState(l fuel.Limit, r fuel.Result) string {
	switch {
	case l.Item == "lift pump":
		return ", of what leaves at " + r.Surge.At
	case l.Item == "suction velocity":
		return ", at " + r.Suction.At
	case l.Item == "regulator rating":
		return ", " + r.Highest.RailAt
	}
	return ""
}

// unsaid lists what a plan must say and does not.
func unsaid(c *state.Car) []schema.Finding {
	var found []schema.Finding
	notSaid := schema.Finding{Rule: "L40", Severity: schema.Unproven, Code: code.Unknown, Measured: "not said", Limit: "said", Entries: planned(c)}
	if planning.WantsReturn(*c.Plan) {
		f := notSaid
		f.Subject, f.About = "return", "return line"
		found = append(found, f)
	}
	if s := c.Plan.Surge; s != nil && s.Return == "" && c.Plan.Return != nil {
		f := notSaid
		f.Subject, f.About = "return end", "end of the return line"
		found = append(found, f)
	}
	if r, err := planning.ComputePlanned(c); err == nil && !r.Demand.Usual {
		found = append(found, schema.Finding{
			Rule: "L40", Subject: "consumption", Severity: schema.Flag, About: "specific consumption", Limit: "said", Entries: planned(c),
			Measured: percent(r.Demand.Efficiency) + " of the fuel's energy at the crank", Values: []schema.Amount{amount("efficiency", r.Demand.Efficiency)},
		})
	}
	return found
}
