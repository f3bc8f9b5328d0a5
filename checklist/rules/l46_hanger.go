package rules

import (
	"fmt"
	"math"

	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var (
	depthScale  = scale{{1.5 * quantity.MM, schema.Hold}}
	hangerScale = scale{{1.0 * quantity.MM, schema.Hold}}
)

var _ = register(Rule{
	ID: "L46", Title: "depth of the tank, and the hanger cut to it",
	What: "For a tank module: the depth as two people read it, each by an entry of their own, and the hanger as it was cut against what depth, gasket and gap ask for. " +
		"The depth counts as the mean of what each person read last.",
	Formula: "cut = depth + gasket - gap; gasket pressed, with its seat (2 to 4 mm), gap under the pick-up (3 to 6 mm, 0 for a sprung foot)",
	Limits:  "depths within 1.5 mm (1/16 in) of each other, hanger within 1.0 mm of the cut; else HOLD. Lacking: UNPROVEN",
	Source:  "common practice: 203 + 3 - 6 = 200 mm",
	Means:   "Too long, and the flange does not seat: the gasket is pinched. Too short, and the pump draws air with fuel left.",
	Next:    "Measure again before you cut.",
	Words: Words{
		code.Missing + " hanger": {"nothing shows its length", "measure it: feedproof read CAR hanger ..."},
		code.Missing + " cut":    {"nobody knows how long it must be", "the plan needs gasket and gap: feedproof plan CAR --tank-gasket \"3 mm\" --tank-gap \"6 mm\""},
		code.Missing:             {"nothing shows it yet", "two people measure it, each their own reading: feedproof read CAR depth ..."},
		code.Alone:               {"one person read it", "somebody else measures it too: feedproof read CAR depth ..."},
		code.Outside + " depth":  {"the two do not agree", "both measure again, tank on its own supports"},
		code.Outside:             {"it does not fit this tank", "measure again; cut it, or take another"},
	},
	Judge: inVisit(judgeHanger),
})

func judgeHanger(c *state.Car) []schema.Finding {
	depths := planning.Depths(c)
	r, cut := c.Last("hanger")
	if !c.Has("c") && !cut && len(depths) == 0 {
		return nil
	}
	return append(depthFinding(c, depths), hangerFinding(c, r, cut)...)
}

func depthFinding(c *state.Car, depths []planning.Depth) []schema.Finding {
	f := schema.Finding{Rule: "L46", Subject: "depth", About: "depth of the tank", Limit: "two people, within 1.5 mm"}
	if len(depths) == 0 {
		return lacking(f, code.Missing)
	}
	least, most := depths[0].Length, depths[0].Length
	for _, d := range depths {
		least, most = min(least, d.Length), max(most, d.Length)
		f.Entries = append(f.Entries, d.Entry.ID)
	}
	f.Measured = millimetres(least)
	if len(depths) == 1 {
		f.Severity, f.Code = schema.Unproven, code.Alone
		return []schema.Finding{f}
	}
	f.Measured += " to " + millimetres(most)
	f.Values, f.Limits = []schema.Amount{amount("apart", most-least)}, []schema.Bound{atMost("apart", quantity.Length(depthScale[0].above))}
	f.Severity = depthScale.grade(float64(most - least))
	return []schema.Finding{f}
}

func hangerFinding(c *state.Car, r state.Reading, read bool) []schema.Finding {
	f := schema.Finding{Rule: "L46", Subject: "hanger", About: "length of the hanger", Limit: "depth + gasket - gap, within 1.0 mm"}
	if !read {
		return lacking(f, code.Missing)
	}
	length, ok := take[quantity.Length](c, r, first(r, "length"))
	if !ok {
		return lacking(f, code.Missing)
	}
	want, known := planning.HangerCut(c)
	if !known {
		f.Subject = "cut"
		return lacking(f, code.Missing)
	}
	off := math.Abs(float64(length.value - want))
	f.Entries, f.Values = append(ids(r.Entry), planned(c)...), []schema.Amount{amount("length", length.value), amount("cut", want)}
	for _, d := range planning.Depths(c) {
		f.Entries = append(f.Entries, d.Entry.ID)
	}
	f.Measured, f.Limit = millimetres(length.value), fmt.Sprintf("%s +- 1.0 mm: depth + gasket - gap", millimetres(want))
	f.Limits = []schema.Bound{inside("length", want-quantity.Length(hangerScale[0].above), want+quantity.Length(hangerScale[0].above))}
	f.Severity = hangerScale.grade(off)
	return []schema.Finding{f}
}

func first(r state.Reading, name string) schema.Value {
	v, _ := r.Value(name)
	return v
}

func millimetres(l quantity.Length) string { return quantity.Format(l, "mm", 1) }
