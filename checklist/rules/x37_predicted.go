package rules

import (
	"slices"

	"feedproof/checklist/datalog"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

// LogPredicted is the id under which a log's entry keeps what the network of
// the plan says of its worst pull.
const LogPredicted = "predicted"

var _ = register(Rule{
	ID: "X37", Title: "a pull that the plan does not predict",
	What:   "The pressure across the injectors in the worst pull of the last loaded log against the plan's network of pump, lines and regulator, run at the logged manifold pressure, fuel flow and volts. Where it is not as planned, the fault that explains it is named, one at a time: relief, pump, voltage, reference, offset, restriction.",
	Limits: "within 0.07 bar (1 psi) on the whole and nowhere more than 0.10 bar (1.5 psi) lower",
	Source: "common practice; the network is described under L01",
	Means:  "The car is not as it was planned, or the plan does not say what is fitted. The fault may cost nothing yet at this power: what it costs at the envelope is not computed.",
	Next:   "feedproof datalog CAR FILE shows what was compared and the next check; mend the car, or plan it as it is.",
	Words:  Words{code.Unplanned: {"the car is not as planned, or the plan does not say what is fitted", "feedproof datalog shows what was compared; mend the car, or plan it as it is"}},
	Judge:  inVisit(judgePredicted),
})

func judgePredicted(c *state.Car) []schema.Finding {
	l, _ := lastPull(c, loadChanges...)
	i := slices.IndexFunc(l.Data.Verdicts, func(v schema.Verdict) bool {
		return v.ID == LogPredicted && v.State == string(datalog.Seen)
	})
	if i < 0 {
		return nil
	}
	return []schema.Finding{{
		Rule: "X37", Subject: "log", Code: code.Unplanned, Severity: schema.Flag, About: "log against the plan", Measured: l.Data.Verdicts[i].Text, Limit: "as planned within 0.07 bar", Entries: ids(c.PlanBy, l.Entry),
	}}
}
