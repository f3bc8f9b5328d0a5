package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "X07", Title: "logged pressure difference against rail less manifold",
	What:    "The pressure difference that a logger writes against the one from its own rail and manifold pressure.",
	Formula: "dp = rail - (manifold - barometer)",
	Limits:  "within 0.03 bar (0.4 psi)",
	Source:  "common practice; the formula is the definition of the pressure difference",
	Means:   "One of the sensors is gauge where it was said to be absolute, or the column is something else.",
	Next:    "Look at both sensors with key on and engine off: the manifold reads the barometer, the rail nothing.",
	Words:   Words{code.Contradicts: {"logged and computed pressure difference cannot both be true", "which sensor is gauge, which absolute?"}},
	Judge: func(c *state.Car) []schema.Finding {
		return contradicts(c, fromLog[quantity.Difference]{
			rule: "X07", over: code.Contradicts, about: "logged pressure difference", limit: "within 0.03 bar of rail less manifold", value: logPressureOff,
			print: func(d quantity.Difference) string { return bar(d) + " off" },
		}, 0.03*quantity.Bar)
	},
})
