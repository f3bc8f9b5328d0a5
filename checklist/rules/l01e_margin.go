package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

var ethanolMarginScale = floorScale{{1.25, schema.Flag}, {1.15, schema.Hold}, {1.00, schema.Block}}

var _ = register(Rule{
	ID: "L01e", Title: "flow margin, above E50", Never: true,
	What:     "The flow margin of L01 when the envelope allows more than 50 % ethanol, whatever is in the tank today.",
	Formula:  "as L01, at the highest ethanol content of the envelope",
	Limits:   "OK from 1.25, FLAG from 1.15, HOLD from 1.00, BLOCK below",
	Source:   "common practice",
	Means:    "Ethanol needs up to half as much again by volume, and its content changes with season and pump.",
	Next:     "Fit more pump, find lost volts, or lower the envelope: power, boost or ethanol.",
	Words:    marginWords,
	Envelope: true,
	Shop:     atLeastOwn[quantity.Fraction](ethanolMarginScale),
	Judge:    inVisit(func(c *state.Car) []schema.Finding { return judgeMargin(c, "L01e", true, ethanolMarginScale) }),
})
