package rules

import (
	"slices"

	"feedproof/checklist/car"
	"feedproof/checklist/fuel"
	"feedproof/checklist/planning"
	"feedproof/schema"
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
	Judge:   inVisit(judgePlanLimits),
})

// byOtherRule reports an item that a rule of its own judges. L02 judges the mean
// of the injectors; where that is inside, the smallest of them may not be.
func byOtherRule(l fuel.Limit, r fuel.Result, c fuel.Criteria) bool {
	if l.Item == fuel.ItemDuty {
		return r.Injection.Effective > c.Effective
	}
	return slices.Contains([]string{fuel.ItemPump, fuel.ItemRelief, fuel.ItemHose, fuel.ItemDrySpell, fuel.ItemPickUp, fuel.ItemReservoir}, l.Item)
}

func judgePlanLimits(c *car.Car) []schema.Finding {
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

func outside(c *car.Car, s fuel.System, w way) []schema.Finding {
	var found []schema.Finding
	r := w.result
	criteria := fuel.PlanningCriteria(s)
	for _, l := range fuel.Checks(s, r, criteria) {
		if l.OK || byOtherRule(l, r, criteria) {
			continue
		}
		found = append(found, schema.Finding{
			Rule: "L40", Severity: planSeverity(l, r), About: w.about(l.Item), Measured: l.Value + planState(l, r), Limit: l.Limit, Entries: ids(c.PlanBy),
			Means: "the plan is outside its limit here", Next: "another part or a lower envelope: feedproof plan CAR --what-if ...",
		})
	}
	for _, text := range r.Unread {
		found = append(found, schema.Finding{
			Rule: "L40", Severity: schema.Unproven, About: w.about("not computed"), Measured: text, Limit: "computed", Entries: ids(c.PlanBy),
			Means: "something was given that the plan could not use", Next: "complete it: feedproof plan CAR ...",
		})
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
func unsaid(c *car.Car) []schema.Finding {
	var found []schema.Finding
	ask := func(severity schema.Severity, about, measured, means, next string) {
		found = append(found, schema.Finding{
			Rule: "L40", Severity: severity, About: about, Measured: measured, Limit: "said", Means: means, Next: next, Entries: ids(c.PlanBy),
		})
	}
	if planning.WantsReturn(*c.Plan) {
		ask(schema.Unproven, "return line", "not said", "it is computed with the regulator in the tank, as without a return",
			"give --return-bore and --return-length, or --return-bore na:WHY where the regulator sits in the tank")
	}
	if s := c.Plan.Surge; s != nil && s.Return == "" && c.Plan.Return != nil {
		ask(schema.Unproven, "end of the return line", "not said", "the worse one is taken: it ends in the tank, and the lift pump must bring all that the main pump moves",
			"say --surge-return \"surge tank\" or tank")
	}
	if r, err := planning.ComputePlanned(c); err == nil && !r.Demand.Usual {
		ask(schema.Flag, "specific consumption", quantityText(r), "it may be that of another fuel, and the demand wrong by as much", "ask on which fuel it was measured: --bsfc \"0.36 kg/kWh on 10 %\"")
	}
	return found
}

func quantityText(r fuel.Result) string {
	return percent(r.Demand.Efficiency) + " of the fuel's energy at the crank"
}
