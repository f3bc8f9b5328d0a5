package rules

import (
	"strings"

	"feedproof/checklist/car"
	"feedproof/schema"
)

var _ = register(Rule{
	ID: "K26", Title: "hose in the tank made to lie in fuel", Never: true,
	What:   "A hose that is fitted inside the tank is made for immersion, by its marking or papers. Without a part record the answer to caution K26 counts, with its photo.",
	Limits: "made for immersion; not: BLOCK; unknown: UNPROVEN",
	Source: "SAE J30 R10 for hose in fuel, from memory",
	Means:  "Hose for outside use swells and splits within months, and the pump then stirs the tank.",
	Next:   "Hose marked for immersion, or corrugated tube made for it.",
	Judge:  judgeSubmerged,
})

func judgeSubmerged(c *car.Car) []schema.Finding {
	k, _ := c.Book.Caution("K26")
	if c.Visit == nil || !c.Applies(k.When) {
		return nil
	}
	f := schema.Finding{
		Rule: "K26", Severity: schema.Unproven, About: "hose in the tank", Measured: NotYet, Limit: "made to lie in fuel",
		Means: "nothing shows what the hose is", Next: "read its marking, photograph it: feedproof caution CAR K26 --proof \"...\"",
	}
	for position, fit := range c.Fitted {
		if !strings.HasPrefix(position, "in-tank") || fit.Part == nil || fit.Part.Hose == nil {
			continue
		}
		f.Entries = ids(fit.Entry)
		switch fit.Part.Hose.Submersible {
		case schema.Yes:
			return nil
		case schema.No:
			f.Severity, f.Measured, f.Means, f.Next = schema.Block, "made for outside use only", "it swells and splits in fuel", "fit hose that is made to lie in fuel"
			return []schema.Finding{f}
		}
	}
	if cautionAnswered(c, k) {
		return nil
	}
	return []schema.Finding{f}
}
