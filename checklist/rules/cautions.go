package rules

import (
	"slices"
	"strings"

	"feedproof/checklist/car"
	"feedproof/checklist/procedures"
	"feedproof/schema"
)

// Cautions judges the cautions that no rule of their own judges: each that
// applies must be answered by what its data asks for. It is registered like a
// rule; its findings carry the caution's id.
var _ = register(Rule{
	ID: "K", Title: "cautions answered",
	What:   "Every caution that applies to the job is answered: met, with what shows it, or not applicable, with the reason. A bare word such as done never counts.",
	Limits: "answered since the visit opened",
	Source: "common practice; each caution's own page says more",
	Means:  "Nobody has said that the hazard was dealt with.",
	Next:   "feedproof caution CAR K02 --proof \"...\", or --na \"why\"",
	Judge:  judgeCautions,
})

func judgeCautions(c *car.Car) []schema.Finding {
	if c.Visit == nil {
		return nil
	}
	var found []schema.Finding
	for _, k := range c.Book.Cautions {
		if judgedElsewhere(k) || !c.Applies(k.When) || cautionAnswered(c, k) {
			continue
		}
		found = append(found, schema.Finding{
			Rule: k.ID, Severity: schema.Unproven, About: k.Hazard, Measured: NotYet, Limit: k.Proof,
			Means: "nobody has said that it was dealt with", Next: "feedproof caution CAR " + k.ID + " --proof \"...\"",
		})
	}
	return found
}

// judgedElsewhere reports a caution whose own rule also says when its proof is
// missing. A rule of another id, which judges the reading, says nothing without
// one.
func judgedElsewhere(k procedures.Caution) bool {
	_, own := Find(k.Needs.Rule)
	return own && (k.Needs.Rule == k.ID || k.Needs.Test == "")
}

func cautionAnswered(c *car.Car, k procedures.Caution) bool {
	if k.Needs.Test != "" {
		if _, ok := c.Last(k.Needs.Test); ok {
			return true
		}
	}
	for i := len(c.Cautions) - 1; i >= 0; i-- {
		e := c.Cautions[i]
		if e.Data.Caution != k.ID || !c.InVisit(e.Entry) {
			continue
		}
		return answersCaution(e.Data)
	}
	return false
}

func answersCaution(d schema.CautionData) bool {
	switch d.State {
	case schema.CautionMet:
		return says(d.Proof) || len(d.Evidence) > 0 || len(d.Readings) > 0
	case schema.CautionNA:
		return reason(d.Why)
	}
	return false
}

// says reports that a text says more than that something was done.
func says(text string) bool {
	return !slices.Contains([]string{"", "ok", "done", "yes", "y", "x"}, word(text))
}

// word is a text of one word without what stands around it.
func word(text string) string { return strings.ToLower(strings.Trim(text, " .!")) }
