package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "L03", Title: "commanded injector duty in a log",
	What:    "The highest commanded duty of the last loaded log, as a median of 0.3 s: pulse width over cycle time. It includes the dead time, so it stands 5 to 7 points above the effective duty of L02 at high speed; the two do not contradict each other. A single sample, such as a flare between gears, does not count.",
	Formula: "D = t_pulse n / 120 x injections per 720 degrees (n in 1/min, t in s)",
	Limits:  "OK to 85 %, FLAG to 90 %, HOLD to 95 %, BLOCK beyond; a log without duty: FLAG",
	Source:  "common practice",
	Means:   "Near 100 % an injector stays open and more pulse gives no more fuel.",
	Next:    "Bigger injectors, more pressure across them, or a lower envelope. Compare with the plan: duty far above it means low pressure, more ethanol or more power than was said.",
	Words: Words{
		code.Outside:  {"the injectors have too little time to close", "bigger injectors, more pressure across them, or a lower envelope"},
		code.Unlogged: {"nobody sees whether the injectors are at their end", "log duty, or pulse width and engine speed"},
	},
	Envelope: true,
	Judge:    inVisit(judgeCommanded),
})

var commanded = fromLog[quantity.Fraction]{
	rule: "L03", about: "commanded duty", limit: "at most 85 %", value: logDuty, scale: commandedScale, print: percent,
}

func judgeCommanded(c *state.Car) []schema.Finding {
	found := commanded.judge(c)
	l, logged := lastPull(c, loadChanges...)
	if len(found) > 0 || !logged || !injected(c) {
		return found
	}
	return []schema.Finding{{
		Rule: "L03", Subject: inLog(logDuty), Code: code.Unlogged, Severity: schema.Flag, About: commanded.about, Measured: "not in the log", Limit: commanded.limit, Entries: ids(l.Entry),
	}}
}

var commandedScale = scale{{0.85, schema.Flag}, {0.90, schema.Hold}, {0.95, schema.Block}}
