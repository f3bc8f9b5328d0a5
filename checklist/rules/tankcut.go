package rules

import (
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
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
		found = append(found, f)
	}
	return found
}

// uncutWords are the words of the rules about cutting: of a cut that was made,
// and of the one that is not made yet.
func uncutWords(caution string) Words {
	const not = "the tank is not shown safe to cut"
	certificate := Say{not, "stop; the cleaner's certificate first: feedproof caution CAR K09 --proof ... --cleaned-by ... --cleaned-how ... --tank-tag ... --cleaned-at ..."}
	return Words{
		code.Untagged + now:    {not, "tag it, then: feedproof vehicle change CAR --tank-tag ..."},
		code.Uncertified + now: certificate, code.Anonymous + now: certificate, code.Nameless + now: certificate, code.OtherTank + now: certificate,
		code.Undated + now: certificate, code.Afterwards + now: certificate, code.Old + now: certificate,
		code.Unpapered + now: {not, "stop; invoice and photo first: feedproof caution CAR " + caution + " --proof ..."},
		now:                  {not, "read every cell just before the cut: feedproof read CAR gas floor=... work=... tank=... oxygen=..."},
		otherwise:            {"the tank was not shown safe to cut", "stop; the proof comes first, and a tank that was cut without it stays unproven"},
	}
}

// now is the subject of an act that is not done yet.
const now code.Code = " now"

func cutFinding(rule string, o state.Opening, limit string) schema.Finding {
	return schema.Finding{Rule: rule, Subject: o.Entry.ID, About: "before the cut: " + o.Joint, Limit: limit, Values: []schema.Amount{called("joint", o.Joint)}}
}

// tankGas is why the last gas reading in the tank does not allow a cut. Oxygen has to stand with it in a tank that was cleaned.
func tankGas(c *state.Car, o state.Opening, oxygen bool) (doubt, []schema.Entry) {
	r, ok := lastBefore(c, "gas", o.Entry)
	if !ok {
		return doubtful(code.GasUnread), []schema.Entry{o.Entry}
	}
	by, age := []schema.Entry{o.Entry, r.Entry}, o.Entry.At.Sub(r.Entry.At)
	cells := r.Values("tank")
	switch {
	case len(cells) == 0:
		return doubtful(code.Elsewhere), by
	case age > cutValid || age < 0:
		return doubtful(code.Late, inMinutes("age", age)), by
	}
	for _, v := range cells {
		if why := cellTrouble(c, r, v); why.is() {
			return why, by
		}
	}
	if oxygen {
		return oxygenInTank(r), by
	}
	return doubt{}, by
}

func cellTrouble(c *state.Car, r state.Reading, v schema.Value) doubt {
	x, err := quantity.Of[quantity.LEL](v.Written())
	if err != nil {
		return doubtful(code.Numberless)
	}
	if why := meterTrouble(c, r, v); why.is() {
		return why
	}
	if corrected := float64(x) * gasFactor(v.Gauge); !exceeds(gasFindSource, corrected) {
		return doubtful(code.Vapour, asPrinted("gas", quantity.LEL(corrected)))
	}
	return doubt{}
}

func oxygenInTank(r state.Reading) doubt {
	oxygen, ok := timed[quantity.Fraction](r, "oxygen")
	switch {
	case !ok:
		return doubtful(code.OxygenUnread)
	case exceeds(float64(oxygenLeast), float64(oxygen)) || exceeds(float64(oxygen), float64(oxygenMost)):
		return doubtful(code.Oxygen, asPrinted("oxygen", oxygen))
	}
	return doubt{}
}
