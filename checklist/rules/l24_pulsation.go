package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "L24", Title: "pulsation of rail pressure",
	What:   "The largest swing of rail pressure, from peak to peak within 0.1 s, in a log of at least 1000 readings a second. A slower log cannot show it and is not judged.",
	Limits: "OK to 0.5 bar (7 psi), FLAG to 1.0 bar, HOLD beyond",
	Source: "common practice",
	Means:  "Cylinders get unequal fuel, and lines and diaphragms tire.",
	Next:   "A damper, or a softer length of hose at the rail; move the speed a little to see a resonance.",
	Words:  Words{code.Outside: {"the rail pulsates", "a damper or a softer hose at the rail; change the speed a little to see a resonance"}},
	Shop:   atMostOwn[quantity.Difference](pulsationScale),
	Judge:  inVisit(judgePulsation),
})

var pulsationScale = scale{{0.5 * quantity.Bar, schema.Flag}, {1.0 * quantity.Bar, schema.Hold}}

func judgePulsation(c *state.Car) []schema.Finding {
	l := fromLog[quantity.Difference]{
		rule: "L24", about: "rail pulsation", value: logPulsation, print: bar[quantity.Difference],
	}
	l.scale, l.limit = shopScale[quantity.Difference](c, l.rule, "at most "+bar(quantity.Difference(pulsationScale[0].above)), pulsationScale)
	return l.judge(c)
}
