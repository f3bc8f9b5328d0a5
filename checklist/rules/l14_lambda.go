package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var (
	leanScale = scale{{0.03, schema.Flag}, {0.05, schema.Block}}
	richScale = scale{{0.03, schema.Flag}, {0.08, schema.Hold}}
)

var _ = register(Rule{
	ID: "L14", Title: "lambda against its target under load",
	What:    "Lambda less its target under full load: of the last loaded log (worst 0.3 s, the leaner bank), and of a reading.",
	Formula: "deviation = lambda - target; lean is above zero",
	Limits:  "OK within 0.03; lean: FLAG to 0.05, BLOCK beyond, and end the pull; rich: FLAG to 0.08, HOLD beyond",
	Source:  "common practice",
	Means:   "Lean under load melts an engine in seconds. Rich washes the bores and hides a fault that will show as lean on another day.",
	Next:    "Is pressure across the injectors steady? Did the ethanol change? Is duty near its end? Then air side and sensor.",
	Words: Words{
		code.Missing:    {"nothing shows it yet", "log it, or: feedproof read CAR lambda measured=... target=..."},
		code.Incomplete: {"nothing shows it yet", "read lambda and say its target"},
		code.Lean:       {"the engine runs lean under load", lambdaNext},
		code.Rich:       {"the engine runs rich under load", lambdaNext},
	},
	Judge: inVisit(judgeLambda),
})

func judgeLambda(c *state.Car) []schema.Finding {
	var found []schema.Finding
	for _, l := range []fromLog[quantity.Lambda]{
		{about: "lean under load, log", value: logLean, scale: leanScale, over: code.Lean},
		{about: "rich under load, log", value: logRich, scale: richScale, over: code.Rich},
	} {
		l.rule, l.limit, l.print = "L14", lambdaLimit, lambdas
		found = append(found, l.judge(c)...)
	}
	byHand, _ := lambdaByHand(c)
	found = beside(found, byHand, true)
	if len(found) == 0 && injected(c) {
		return lacking(lambdaFinding(), code.Missing)
	}
	return found
}

func lambdaFinding() schema.Finding {
	return schema.Finding{Rule: "L14", Subject: "lambda", About: "lambda under load", Limit: lambdaLimit}
}

const (
	lambdaLimit = "target +- 0.03"
	lambdaNext  = "pressure across the injectors, ethanol, duty; then air side and sensor"
)

func lambdas(l quantity.Lambda) string { return quantity.Format(l, "lambda", 3) + " off its target" }

func lambdaByHand(c *state.Car) ([]schema.Finding, bool) {
	r, ok := c.Last("lambda")
	if !ok {
		return nil, false
	}
	if why, gone := invalidated(c, r, loadChanges...); gone {
		return outdated(lambdaFinding(), why), true
	}
	m, ok1 := read[quantity.Lambda](c, r, "measured")
	target, ok2 := timed[quantity.Lambda](r, "target")
	if !ok1 || !ok2 {
		return lacking(lambdaFinding(), code.Incomplete), true
	}
	off := float64(m.value - target)
	f := lambdaFinding()
	f.Entries, f.Measured = ids(r.Entry), quantity.Format(m.value, "lambda", 3)+" at a target of "+quantity.Format(target, "lambda", 3)
	f.Values, f.Limits = []schema.Amount{asRead("measured", m), amount("target", target)}, []schema.Bound{inside("measured", target-quantity.Lambda(richScale[0].above), target+quantity.Lambda(leanScale[0].above))}
	f.Code = code.Lean
	f = weigh(f, leanScale, max(0, off), float64(m.u))
	if off < 0 {
		f.Code = code.Rich
		f = weigh(f, richScale, -off, float64(m.u))
	}
	return decided(f, m.trouble), true
}
