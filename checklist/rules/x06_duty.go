package rules

import (
	"fmt"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "X06", Title: "logged duty against pulse width and speed",
	What:    "The duty that a logger writes against the one from its own pulse width and engine speed.",
	Formula: "D = t_pulse n / 1200 x injections per 720 degrees (t in ms, n in 1/min, D in %)",
	Limits:  "within 2 points",
	Source:  "common practice; the formula is the definition of duty",
	Means:   "The logger counts injections otherwise, shows one bank of two, or the file was edited.",
	Next:    "Say how many injections there are in 720 degrees, and which bank is logged; then read the log in again.",
	Words:   Words{code.Contradicts: {"logged and computed duty cannot both be true", "injections in 720 degrees? one bank of two? then read the log in again"}},
	Judge: func(c *state.Car) []schema.Finding {
		return contradicts(c, fromLog[quantity.Fraction]{
			rule: "X06", over: code.Contradicts, about: "logged duty", limit: "within 2 points of pulse width x speed", value: logDutyOff,
			print: func(d quantity.Fraction) string { return fmt.Sprintf("%.1f points off", 100*float64(d)) },
		}, 0.02)
	},
})
