package audit

import (
	"slices"
	"strings"

	"feedproof/checklist/past"
	"feedproof/schema"
)

var _ = register(Question{
	ID: "Q26", Name: "flags", Title: "Which FLAGs were answered by who did the work, or in copied words?",
	How: "Listed is every answer to a FLAG that was not taken back and whose author had written a step, a fitting, a removal or a reading in that visit before it, " +
		"and every one whose reason stands, word for word but for capitals and spaces, under more than one finding in the whole shop. " +
		"Copied counts these findings, each once a car: one reason for many is a blanket, and nobody looked at each.",
	Needs: "Who answers in other words each time does not show, nor work that nobody wrote down. Waivers are asked by `feedproof ask waivers`.",
}, askFlags)

func askFlags(a *asking) error {
	a.carColumns("visit: number", "finding: rule and what it judged", "measured: then", "by: who answered", "answered: when", "own_work: they worked on the car before it", "copied: findings of the shop with an answer of the same reason", "why: the reason, in small letters")
	type line struct {
		record string
		flagFact
	}
	var all []line
	copied := map[string]map[string]bool{} // findings by reason
	err := each(a, tableFlags, "", func(record string, rows []flagFact) error {
		for _, f := range rows {
			all = append(all, line{record, f})
			if copied[f.Why] == nil {
				copied[f.Why] = map[string]bool{}
			}
			copied[f.Why][record+" "+f.Finding] = true
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, f := range all {
		if !f.Own && len(copied[f.Why]) < 2 {
			continue
		}
		if err := a.row(f.record, []string{f.Entry}, f.Visit, f.Finding, f.Measured, f.By, minute(f.at()), f.Own, len(copied[f.Why]), f.Why); err != nil {
			return err
		}
	}
	a.sortRows(0, 6)
	return nil
}

var tableFlags = vehicleTable("flags", flagFacts)

// flagFact is an answer to a FLAG.
type flagFact struct {
	stamp
	Finding  string `json:"f"`
	Measured string `json:"m,omitempty"`
	Why      string `json:"y"` // in small letters, single spaces
	Visit    string `json:"v"`
	Own      bool   `json:"o,omitempty"` // its author worked on the car before it
}

func flagFacts(s subject) []flagFact {
	var out []flagFact
	for _, k := range s.car.Acks {
		v, _ := past.VisitAt(s.visits, k.Entry)
		out = append(out, flagFact{
			stamp: *stampOf(k.Entry), Finding: k.Data.Key(), Measured: schema.Text(k.Data.Values), Why: plainWords(k.Data.Why), Visit: v.Number,
			Own: slices.Contains(v.Workers(k.Entry), k.Entry.By),
		})
	}
	return out
}

// plainWords is a reason in small letters and single spaces, for telling copies.
func plainWords(why string) string { return strings.ToLower(strings.Join(strings.Fields(why), " ")) }
