package audit

import (
	"fmt"
	"regexp"
	"strings"
	"time"

	"feedproof/schema"
	"feedproof/schema/places"
)

const hoseYears = 10 // common practice: fuel hose is changed by then

var _ = register(Question{
	ID: "Q11", Name: "hoses", Title: "Which hoses are old, or not known to stand ethanol on a car that runs it?",
	Args: []Arg{{Name: "YEARS", What: fmt.Sprintf("old from so many years on; %d without it", hoseYears), Kind: Number, Optional: true}},
	How: "Every hose that is in a car now: its part record says hose, or its position is a hose or a line. Its age is from the year in the date code on its cover, " +
		"else from the day it was fitted, when it is at least that old. Ethanol counts when the last plan allows more than 10 %, or does not know, " +
		"and the part's papers do not say yes.",
	Needs: "A hose of the car's own that nobody recorded does not show.",
}, askHoses)

func askHoses(a *asking) error {
	a.carColumns("position: where it is", "part: record", "dated: date code, or the day of fitting", "age_years: at least", "ethanol: what the papers say", "why: old, or ethanol")
	years, err := a.number("YEARS", hoseYears)
	if err != nil {
		return err
	}
	parts, err := a.parts()
	if err != nil {
		return err
	}
	err = each(a, tableFits, "", func(record string, rows []fitFact) error {
		for _, f := range rows {
			p, known := parts[f.Part]
			if f.Out != nil || !isHose(f, p) {
				continue
			}
			if err := a.hoseRow(record, f, p, known, years); err != nil {
				return err
			}
		}
		return nil
	})
	a.sortRows(0, 2)
	return err
}

func isHose(f fitFact, p partFact) bool {
	return p.Kind == schema.PartHose || p.Kind == "" && holdsHose(f.Position)
}

func holdsHose(position string) bool {
	p, known := places.Of(position)
	return known && p.Holds(schema.PartHose)
}

func (a *asking) hoseRow(record string, f fitFact, p partFact, known bool, years float64) error {
	from, dated := hoseDate(f, p)
	age := a.now.Sub(from).Hours() / 24 / 365.25
	var why []string
	if age >= years {
		why = append(why, fmt.Sprintf("%g years or older", years))
	}
	c, err := a.car(record)
	if err != nil {
		return err
	}
	if c.Blend && p.Ethanol != schema.Yes {
		why = append(why, "ethanol car, and its papers do not say that it stands it")
	}
	if len(why) == 0 {
		return nil
	}
	entries := []string{f.In.Entry}
	if known {
		entries = append(entries, p.Last.id())
	}
	return a.row(record, entries, f.Position, f.Part, dated, rounded(age, 1), string(p.Ethanol), strings.Join(why, "; "))
}

var yearInCode = regexp.MustCompile(`(?:^|\D)(19[89]\d|20\d\d)(?:\D|$)`)

// hoseDate is the youngest that a hose can be: the end of the year in its date
// code, unless it was fitted before that, else the day it was fitted.
func hoseDate(f fitFact, p partFact) (time.Time, string) {
	m := yearInCode.FindStringSubmatch(p.DateCode)
	if m == nil {
		return f.In.at(), "fitted " + f.In.day()
	}
	end, err := time.Parse(time.DateOnly, m[1]+"-12-31")
	if err != nil || end.After(f.In.at()) {
		end = f.In.at()
	}
	return end, p.DateCode
}
