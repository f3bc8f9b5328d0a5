package rules

import (
	"maps"
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/places"
)

var _ = register(Rule{
	ID: "K26", Title: "hose in the tank made to lie in fuel", Never: true,
	What:   "Every hose that is fitted inside the tank is made for immersion, by its marking or papers. Where no part record says so the answer to caution K26 counts, with its photo.",
	Limits: "made for immersion; not: BLOCK; unknown: UNPROVEN",
	Source: "SAE J30 R10 for hose in fuel, from memory",
	Means:  "Hose for outside use swells and splits within months, and the pump then stirs the tank.",
	Next:   "Hose marked for immersion, or corrugated tube made for it.",
	Words: Words{
		code.Missing: {"nothing shows what the hose is", "read its marking, photograph it: feedproof caution CAR K26 --proof \"...\""},
		code.Unfit:   {"it swells and splits in fuel", "fit hose that is made to lie in fuel"},
	},
	Judge: inVisit(judgeSubmerged),
})

func judgeSubmerged(c *state.Car) []schema.Finding {
	k, _ := c.Book.Caution("K26")
	if !c.Applies(k.When) {
		return nil
	}
	f := schema.Finding{
		Rule: "K26", Subject: "in-tank hose", Severity: schema.Unproven, Code: code.Missing, About: "hose in the tank", Measured: NotYet, Limit: "made to lie in fuel",
	}
	hoses := hosesInTank(c)
	for _, h := range hoses {
		f.Entries = ids(h.Entry)
		if submersible(h) == schema.No {
			f.Severity, f.Code, f.Measured = schema.Block, code.Unfit, h.Data.Position+": made for outside use only"
			return []schema.Finding{f}
		}
	}
	unknown := slices.ContainsFunc(hoses, func(h state.Fitted) bool { return submersible(h) != schema.Yes })
	if len(hoses) > 0 && !unknown || cautionAnswered(c, k) {
		return nil
	}
	return []schema.Finding{f}
}

func hosesInTank(c *state.Car) []state.Fitted {
	var hoses []state.Fitted
	for _, position := range slices.Sorted(maps.Keys(c.Fitted)) {
		h := c.Fitted[position]
		if p, known := places.Of(position); known && p.Within != "" && (p.Holds(schema.PartHose) || h.Part != nil && h.Part.Hose != nil) {
			hoses = append(hoses, h)
		}
	}
	return hoses
}

func submersible(h state.Fitted) schema.Answer {
	if h.Part == nil || h.Part.Hose == nil {
		return schema.Unknown
	}
	return h.Part.Hose.Submersible
}
