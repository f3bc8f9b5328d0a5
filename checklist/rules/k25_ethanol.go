package rules

import (
	"maps"
	"slices"
	"strings"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/places"
)

var _ = register(Rule{
	ID: "K25", Title: "materials fit for ethanol",
	What: "Above 10 % ethanol in the envelope, whatever is in the tank today, every fitted part that gets wet is stated fit for ethanol, by a paper. No part may be unknown; paper filters are not fit. " +
		"And the audit of what was on the car before is answered: caution K25.",
	Limits: "OK: fit, with a paper; FLAG: fit, without one; HOLD: unknown; BLOCK: not fit, a paper filter, or an unknown hose, pump, regulator or damper",
	Source: "common practice; E10 as the content that ordinary parts are made for, from memory",
	Means:  "Hoses, diaphragms, seals and bonded paper swell, crack or come apart within months, and then they leak or clog.",
	Next:   "A part with a paper, or a lower ethanol content in the envelope.",
	Words: Words{
		code.Missing: {"nobody has gone through what was on the car before", "feedproof caution CAR K25 --proof \"...\""},
		otherwise:    {"ethanol may attack it", "a part with a paper, or less ethanol in the envelope"},
	},
	Envelope: true,
	Judge:    inVisit(judgeMaterials),
})

func judgeMaterials(c *state.Car) []schema.Finding {
	k, _ := c.Book.Caution("K25")
	if !c.Applies(k.When) {
		return nil
	}
	var found []schema.Finding
	if !cautionAnswered(c, k) {
		found = append(found, schema.Finding{
			Rule: "K25", Subject: "K25", Severity: schema.Unproven, Code: code.Missing, About: k.Hazard, Measured: NotYet, Limit: k.Proof,
		})
	}
	for _, position := range slices.Sorted(maps.Keys(c.Fitted)) {
		if f := material(position, c.Fitted[position]); f.Severity > schema.OK {
			f.Entries = append(f.Entries, planned(c)...)
			found = append(found, f)
		}
	}
	return found
}

var dryParts = []schema.PartKind{"wire", "relay", "fuse"}

func material(position string, fit state.Fitted) schema.Finding {
	f := schema.Finding{
		Rule: "K25", Subject: position, About: "ethanol and the " + position, Limit: "stated fit for ethanol, by a paper", Entries: ids(fit.Entry),
	}
	part := fit.Part
	if part == nil {
		part = &schema.PartData{}
	}
	switch {
	case slices.Contains(dryParts, part.Part) || dry(position):
	case part.Filter != nil && paper(part.Filter.Media):
		f.Severity, f.Code, f.Measured = schema.Block, code.Unfit, part.Filter.Media+" filter"
	case part.Ethanol == schema.No:
		f.Severity, f.Code, f.Measured = schema.Block, code.Unfit, "stated not fit"
	case part.Ethanol != schema.Yes:
		f.Severity, f.Code, f.Measured = schema.Hold, code.Unknown, "nobody knows"
		if vital(position, part.Part) {
			f.Severity = schema.Block
		}
	case part.Papers == "":
		f.Severity, f.Code, f.Measured = schema.Flag, code.Unpapered, "stated fit, no paper"
	}
	return f
}

func paper(media string) bool {
	media = strings.ToLower(media)
	return strings.Contains(media, "paper") || strings.Contains(media, "cellulose")
}

// vital parts are never accepted unknown: hoses, pumps and diaphragms, and what
// goes where one is.
func vital(position string, kind schema.PartKind) bool {
	p, known := places.Of(position)
	return slices.ContainsFunc([]schema.PartKind{schema.PartHose, schema.PartPump, schema.PartRegulator}, func(k schema.PartKind) bool {
		return kind == k || known && p.Holds(k)
	}) || known && p.Name == "damper"
}

// dry reports a place that no fuel wets.
func dry(position string) bool {
	p, known := places.Of(position)
	return known && !p.Wet()
}
