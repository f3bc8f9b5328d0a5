package rules

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"feedproof/checklist/fittings"
	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/places"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "L49", Title: "hose of the right kind",
	What: "Each fitted hose by its kind, as its cover says: for this fuel, for lying in fuel, with a liner that leads static away, and not older than its shelf life when it went in. Clamps that were written down with it, and quick connectors above the pressure of their standard. " +
		"A kind that stands the fuel only by its maker's word needs that word, on paper. The maker's print wins over the standard.",
	Formula: "age = day it was fitted less the beginning of the month, quarter or year on its cover, by whole months",
	Limits:  "not for this fuel, not for immersion in the tank, a PTFE liner that does not conduct: BLOCK; the maker's word lacking, a slotted worm clamp on pressure, a J2044 connector above 5 bar: HOLD; older than 5 years (rubber), 10 (plastic tube): FLAG",
	Source:  "SAE J30 (scope and titles read), J2260, J2044 (scope read), SAE J1645 for static; ethanol columns and shelf life: practice and memory",
	Means:   "The lining swells and sheds, the cover rots in the tank, static burns pinholes, a clamp cuts the hose.",
	Next:    "PTFE with a conductive liner, or FKM-lined with the maker's word for the fuel; 30R10 in the tank.",
	Words: Words{
		code.Unfit:     {"{why}", "take another: conductive PTFE, or FKM-lined with the maker's word for the fuel; in the tank 30R10 or tube"},
		code.Unpapered: {"this kind stands the fuel only if its maker says so", "the maker's paper: feedproof part receive ID --ethanol yes --papers \"..\""},
		code.Old:       {"it is older than its shelf life", "a new one; an assembly of PTFE is tested again"},
		code.Beyond:    {"{why}", "the maker's rating on paper, or threaded ends; an ear or rolled-edge clamp"},
	},
	Envelope: true,
	Judge:    inVisit(judgeHoseKind),
})

// connectorMost is the pressure to which SAE J2044 speaks: its 2002 scope.
const connectorMost = quantity.Gauge(5 * quantity.Bar)

func judgeHoseKind(c *state.Car) []schema.Finding {
	var found []schema.Finding
	for _, position := range slices.Sorted(maps.Keys(c.Fitted)) {
		f := c.Fitted[position]
		if f.Part == nil || f.Part.Hose == nil {
			continue
		}
		found = append(found, oldHose(position, f)...)
		if h, known := fittings.FindHose(f.Part.Hose.Kind); known {
			found = append(found, unfitHose(c, position, f, h)...)
		}
	}
	for _, j := range joints(c) {
		found = append(found, strained(c, j)...)
	}
	return found
}

func unfitHose(c *state.Car, position string, f state.Fitted, h fittings.Hose) []schema.Finding {
	out := schema.Finding{Rule: "L49", Subject: position, About: "kind of hose, " + position, Measured: h.Kind + ", " + h.Words, Limit: "made for this fuel and place", Entries: ids(f.Entry)}
	block := func(why string) []schema.Finding {
		out.Severity, out.Code, out.Values = schema.Block, code.Unfit, []schema.Amount{called("why", why)}
		return []schema.Finding{out}
	}
	most := quantity.Fraction(0)
	if c.Plan != nil {
		_, most = ethanolRange(c)
		out.Entries = append(out.Entries, planned(c)...)
	}
	switch word, fuel := h.In(most); {
	case word == "no" || word == "short" || word == "unknown" || word == "-":
		return block("its liner is not for " + fuel + ": " + h.Duty)
	case inTank(position) && h.Immersion == "no" && f.Part.Hose.Submersible != schema.Yes:
		return block("only its inside is fuel-proof: cover and clamped end rot in the tank")
	case h.Conducts == "no" && strings.HasPrefix(h.Liner, "PTFE"):
		return block("its liner does not conduct: static burns pinholes through it")
	case word != "yes" && (f.Part.Ethanol != schema.Yes || f.Part.Papers == ""):
		out.Severity, out.Code = schema.Hold, code.Unpapered
	}
	return []schema.Finding{out}
}

func inTank(position string) bool {
	p, known := places.Of(position)
	return known && p.Within != ""
}

var (
	hoseDate    = regexp.MustCompile(`\b(\d{4})(?:-(\d{2}))?\b`)
	hoseQuarter = regexp.MustCompile(`\b([1-4])Q(\d{2})\b`)
)

// madeOn reads the date on a cover, 2019-04, 2019 or 2Q19: the beginning of it.
func madeOn(dateCode string) (time.Time, bool) {
	if m := hoseQuarter.FindStringSubmatch(dateCode); m != nil {
		quarter, _ := strconv.Atoi(m[1])
		year, _ := strconv.Atoi(m[2])
		return time.Date(2000+year, time.Month(3*quarter-2), 1, 0, 0, 0, 0, time.UTC), true
	}
	m := hoseDate.FindStringSubmatch(dateCode)
	if m == nil {
		return time.Time{}, false
	}
	year, _ := strconv.Atoi(m[1])
	month := 1
	if m[2] != "" {
		month, _ = strconv.Atoi(m[2])
	}
	return time.Date(year, time.Month(month), 1, 0, 0, 0, 0, time.UTC), year > 1950 && month >= 1 && month <= 12
}

// rubberYears is the shelf life of a hose whose kind nobody typed.
const rubberYears = 5.0

func oldHose(position string, f state.Fitted) []schema.Finding {
	made, known := madeOn(f.Part.Hose.DateCode)
	years := rubberYears
	if h, ok := fittings.FindHose(f.Part.Hose.Kind); ok {
		years = h.ShelfYears
	}
	age := float64(f.Entry.At.Sub(made)) / float64(yearLength)
	const months = 12
	if !known || years == 0 || f.Entry.At.Before(made.AddDate(0, int(years)*months+1, 0)) {
		return nil
	}
	return []schema.Finding{{
		Rule: "L49", Subject: "age " + position, About: "age of the hose, " + position, Severity: schema.Flag, Code: code.Old, Values: []schema.Amount{{Name: "age", Value: figures(age), Unit: ""}},
		Measured: fmt.Sprintf("%.1f years when it was fitted", age), Limit: fmt.Sprintf("at most %.0f years", years), Entries: ids(f.Entry),
	}}
}

const yearLength = 8766 * time.Hour // 365.25 days

// strained are clamps and connectors that the pressure of their joint is too
// much for.
func strained(c *state.Car, j joined) []schema.Finding {
	if withoutPressure(j.position) || inTank(j.position) {
		return nil
	}
	f := schema.Finding{Rule: "L49", Subject: "joint " + j.about(), About: j.about(), Severity: schema.Hold, Code: code.Beyond, Entries: append(ids(j.entry), planned(c)...)}
	highest, known := quantity.Gauge(0), false
	if c.Plan != nil {
		h, ok := planning.Highest(c)
		highest, known = h.Rail, ok
	}
	switch {
	case strings.Contains(strings.ToLower(j.join.With), "worm"):
		f.Measured, f.Limit, f.Values = j.join.With, "an ear or rolled-edge clamp", []schema.Amount{called("why", "its band cuts the hose and does not follow it")}
	case strings.HasPrefix(j.end.Kind, "qc-") && known && exceeds(float64(highest), float64(connectorMost)) && !rated(j, highest):
		f.Measured, f.Limit, f.Values = "quick connector at "+bar(highest), "at most "+bar(connectorMost), []schema.Amount{called("why", "outside the scope of SAE J2044 (2002)")}
	default:
		return nil
	}
	return []schema.Finding{f}
}

// rated reports that the maker of the line states a pressure that is enough.
func rated(j joined, highest quantity.Gauge) bool {
	for _, p := range []*schema.PartData{j.part, j.otherPart} {
		if p != nil && p.Hose != nil && p.Hose.WorkingPressure.Or(0) >= highest {
			return true
		}
	}
	return false
}
