package rules

import (
	"maps"
	"slices"
	"strings"

	"feedproof/checklist/fittings"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "L48", Title: "seals against the fuel",
	What:   "The compound of each fitted part's seals against every fuel of the envelope, from the least ethanol to the most: the worst counts, for gasoline attacks what E85 spares, and the other way. A part with a sealed end and no compound is said once, for all places.",
	Limits: "good: OK; fair: FLAG; poor or not fit: BLOCK; not known: UNPROVEN",
	Source: "elastomers in E10 (OSTI 1616838, 2020), NACE CORROSION 2015-5535, and practice; each row of the table of seals has its own. For FKM in E85 practice says good, and the study that was read does not name it: want the maker's word",
	Means:  "The seal swells, rolls out of its groove or shrinks when it dries, and leaks later.",
	Next:   "FKM, or FVMQ where it is static and cold; the maker's paper wins.",
	Words: Words{
		code.Unfit:   {"{fuel} attacks it: it swells, rolls out and leaks later", "a seal of FKM, or of FVMQ where it does not move"},
		code.Roughly: {"{fuel} attacks it a little", "FKM, or the maker's word for this fuel"},
		code.Unknown: {"nobody knows what the seal is made of", "the maker's paper, or a new seal of a known kind: feedproof part receive ID --seal FKM"},
	},
	Envelope: true,
	Judge:    inVisit(judgeSeals),
})

func judgeSeals(c *state.Car) []schema.Finding {
	if c.Plan == nil {
		return nil
	}
	least, most := ethanolRange(c)
	var found []schema.Finding
	var unknown []string
	for _, position := range slices.Sorted(maps.Keys(c.Fitted)) {
		f := c.Fitted[position]
		if f.Part == nil {
			continue
		}
		s, known := fittings.FindSeal(f.Part.Seal)
		switch {
		case !known && (f.Part.Seal != "" || slices.ContainsFunc(f.Part.Ends, carriesSeal)):
			unknown = append(unknown, position)
		case known:
			found = append(found, sealFinding(c, position, f, s, least, most))
		}
	}
	if len(unknown) > 0 {
		found = append(found, schema.Finding{
			Rule: "L48", Subject: "seals", About: "seals", Severity: schema.Unproven, Code: code.Unknown, Values: []schema.Amount{howMany("unknown", len(unknown))}, Measured: "not known: " + strings.Join(unknown, ", "), Limit: "a compound for the fuel",
		})
	}
	return found
}

// ethanolRange is the least and the most ethanol of the envelope; what is not
// known is any.
func ethanolRange(c *state.Car) (least, most quantity.Fraction) {
	return c.Plan.Envelope.EthanolMin.Or(0), c.Plan.Envelope.EthanolMax.Or(1)
}

// carriesSeal reports an end whose seal comes with it.
func carriesSeal(e schema.PartEnd) bool {
	end, err := fittings.Parse(e.End)
	return err == nil && end.CarriesSeal()
}

func sealFinding(c *state.Car, position string, f state.Fitted, s fittings.Seal, least, most quantity.Fraction) schema.Finding {
	rating, fuel := s.Worst(least, most)
	out := schema.Finding{
		Rule: "L48", Subject: position, About: "seal, " + position, Measured: s.Compound + ", " + string(rating) + " in " + fuel, Limit: "good in every fuel of the envelope", Values: []schema.Amount{called("fuel", fuel)}, Entries: append(ids(f.Entry), planned(c)...),
	}
	switch rating {
	case fittings.Good:
	case fittings.Fair:
		out.Severity, out.Code = schema.Flag, code.Roughly
	default:
		out.Severity, out.Code = schema.Block, code.Unfit
	}
	return out
}
