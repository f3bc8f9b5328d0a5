package rules

import (
	"fmt"

	"feedproof/checklist/fuel"
	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "L42", Title: "the return ends in the surge tank or reservoir",
	What: "Where the engine's return ends, of a car with a return line and a surge tank or reservoir. Inside, only what the engine burns leaves; elsewhere the whole flow of the pump does, which the lift pump or flap must bring at every load. " +
		"A car without a return line is not judged.",
	Formula: "inside: lift - burnt; elsewhere: lift - the flow of a new pump",
	Limits:  "inside: OK; elsewhere: FLAG, and HOLD where the lift pump brings less than the pump moves; of a reservoir not said: UNPROVEN (of a surge tank L40 asks)",
	Source:  "common practice; volume balance",
	Means:   "The surge tank or reservoir empties at light load too, and then in the first corner.",
	Next:    "Lead the return into it, low and along its wall. Say it: feedproof plan CAR --return-inside yes, or --surge-return \"surge tank\".",
	Words: Words{
		code.Unknown: {"where it ends decides how long it lasts", leadReturn},
		code.Outside: {"the whole pump flow leaves it, not what is burnt", leadReturn},
	},
	Judge: inVisit(judgeReturnEnd),
})

const leadReturn = "lead the return into it; say where it ends: --return-inside of a reservoir, --surge-return of a surge tank"

func judgeReturnEnd(c *state.Car) []schema.Finding {
	e, _ := planning.EnduranceOf(c)
	if e.Holder == "" || c.Plan.Return == nil || e.Holder == fuel.HoldsSurge && !e.Said { // of a surge tank L40 asks
		return nil
	}
	holder := e.Holder
	f := schema.Finding{
		Rule: "L42", Subject: "return", About: "return, " + string(holder), Limit: "ends in the " + string(holder), Entries: planned(c),
	}
	switch {
	case e.Inside:
		f.Measured = "ends in it"
	case !e.Said:
		f.Severity, f.Code, f.Measured = schema.Unproven, code.Unknown, "the plan does not say"
	default:
		f = drained(c, holder, f)
	}
	return []schema.Finding{f}
}

// drained compares the lift pump with what the pump moves.
func drained(c *state.Car, holder fuel.Holder, f schema.Finding) schema.Finding {
	f.Severity, f.Measured, f.Entries = schema.Flag, "ends elsewhere", builtAs(c)
	r, err := planning.Compute(c)
	if err != nil || holder != fuel.HoldsSurge || r.Surge == nil {
		return f
	}
	f.Measured += fmt.Sprintf("; the lift pump brings %s, %s leave it", flow(r.Surge.Lift), flow(r.Surge.Leaving))
	f.Values, f.Limits = []schema.Amount{amount("lift", r.Surge.Lift), amount("leaving", r.Surge.Leaving)}, []schema.Bound{atLeast("lift", r.Surge.Leaving)}
	if exceeds(float64(r.Surge.Leaving), float64(r.Surge.Lift)) {
		f.Severity = schema.Hold
	}
	return f
}
