package rules

import (
	"fmt"
	"strings"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// Limits before a tank is cut.
const (
	cutValid    = 15 * time.Minute // shop policy
	cutCleaned  = 24 * time.Hour   // shop policy
	oxygenLeast = quantity.Fraction(0.195)
	oxygenMost  = quantity.Fraction(0.235)
)

// cuts judges every cut of a tank by what must stand before it, and, while
// none was made, whether one could be made now.
func cuts(c *state.Car, caution string, before func(*state.Car, state.Opening) (schema.Finding, bool)) []schema.Finding {
	k, _ := c.Book.Caution(caution)
	if !c.Applies(k.When) {
		return nil
	}
	var found []schema.Finding
	cut := false
	openings := c.VisitOpenings()
	for i, o := range openings {
		if !o.HotOrCut {
			continue
		}
		cut = true
		f, proven := before(c, o)
		if !proven {
			f.Severity = openingSeverity(c, openings, i, func(state.Opening) bool { return false })
			found = append(found, f)
		}
	}
	if cut {
		return found
	}
	now := state.Opening{Entry: thisMoment(c), Joint: "the tank"}
	if f, proven := before(c, now); !proven {
		f.Severity, f.Entries = schema.Unproven, nil
		f.Means, f.Next = "the tank is not shown safe to cut", howToShow(caution, f.Measured)
		found = append(found, f)
	}
	return found
}

// howToShow says how what is missing before a cut is put into the record.
func howToShow(caution, measured string) string {
	switch {
	case strings.Contains(measured, "which tank"):
		return "tag it, then: feedproof vehicle change CAR --tank-tag ..."
	case strings.Contains(measured, "certificate"):
		return "stop; the cleaner's certificate first: feedproof caution CAR K09 --proof ... --cleaned-by ... --cleaned-how ... --tank-tag ... --cleaned-at ..."
	case strings.Contains(measured, "new"):
		return "stop; invoice and photo first: feedproof caution CAR " + caution + " --proof ..."
	}
	return "read every cell just before the cut: feedproof read CAR gas floor=... work=... tank=... oxygen=..."
}

func cutFinding(rule string, o state.Opening, limit string) schema.Finding {
	return schema.Finding{
		Rule: rule, About: "before the cut: " + o.Joint, Limit: limit, Entries: ids(o.Entry),
		Means: "the tank was not shown safe to cut", Next: "stop; the proof comes first, and a tank that was cut without it stays unproven",
	}
}

// tankGas is why the last gas reading in the tank does not allow a cut; empty
// when it does. Oxygen has to stand with it in a tank that was cleaned.
func tankGas(c *state.Car, o state.Opening, oxygen bool) (string, []string) {
	r, ok := lastBefore(c, "gas", o.Entry)
	if !ok {
		return "no gas reading before it", ids(o.Entry)
	}
	by, age := ids(o.Entry, r.Entry), o.Entry.At.Sub(r.Entry.At)
	cells := r.Values("tank")
	switch {
	case len(cells) == 0:
		return "the last gas reading was not in the tank", by
	case age > cutValid || age < 0:
		return fmt.Sprintf("the last gas reading was %.0f min before it", age.Minutes()), by
	}
	for _, v := range cells {
		if why := cellTrouble(c, r, v); why != "" {
			return why, by
		}
	}
	if oxygen {
		return oxygenInTank(r), by
	}
	return "", by
}

func cellTrouble(c *state.Car, r state.Reading, v schema.Value) string {
	x, err := quantity.Of[quantity.LEL](v.Written())
	if err != nil {
		return "the reading in the tank holds no number"
	}
	if why := meterTrouble(c, r, v); why != "" {
		return why
	}
	if corrected := float64(x) * gasFactor(v.Gauge); !exceeds(gasFindSource, corrected) {
		return quantity.Text(quantity.LEL(corrected)) + " corrected, in the tank"
	}
	return ""
}

func oxygenInTank(r state.Reading) string {
	oxygen, ok := timed[quantity.Fraction](r, "oxygen")
	switch {
	case !ok:
		return "oxygen was not read with it"
	case exceeds(float64(oxygenLeast), float64(oxygen)) || exceeds(float64(oxygen), float64(oxygenMost)):
		return percent(oxygen) + " oxygen in the tank"
	}
	return ""
}
