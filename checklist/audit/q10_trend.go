package audit

import (
	"fmt"
	"strings"

	"feedproof/checklist/past"
	"feedproof/checklist/state"
	"feedproof/schema"
)

var _ = register(Question{
	ID: "Q10", Name: "trend", Title: "How did one quantity of this car go through the years?",
	Args: []Arg{{Name: "CAR", What: "a car", Kind: Car}, {Name: "QUANTITY", What: "a test and one of its values: base rail, supply pump, load difference", Kind: Words}},
	How: "Every value of that name in readings of that test, in order, as written and in one unit, with its gauge and the conditions that were written with it. " +
		"The line is the least-squares line over time. `load difference` is the rail's gauge pressure less the manifold's, at the barometer of the reading, else at 101.3 kPa.",
	Needs: "Readings under other conditions stand beside each other: look at the conditions before the line.",
}, askTrend)

func askTrend(a *asking) error {
	test, value, ok := QuantityOf(a.args["QUANTITY"])
	if !ok {
		return &UsageError{a.answer.Question, fmt.Sprintf("%q is not a test and one of its values; feedproof explain base lists those of base", a.args["QUANTITY"])}
	}
	r, err := a.Record(schema.VehicleRecord, a.args["CAR"])
	if err != nil {
		return err
	}
	s, err := past.Read(state.Fold(state.Told(r), schema.Shop{}, a.now), test, value)
	if err != nil {
		return &UsageError{a.answer.Question, err.Error()}
	}
	a.columns("visit: number", "read: when", "by: who", "written: as it was written", unitColumn("value", s.Unit)+": in one unit", "gauge: which", "conditions: that were written with it")
	for _, p := range s.Points {
		a.add(schema.VehicleRecord, r.ID, []string{p.Entry.ID}, p.Visit, minute(p.Entry.At), p.Entry.By, p.Written, rounded(p.Value, 4), p.Gauge, p.With)
	}
	if t, ok := s.Trend(); ok {
		a.note("%s", TrendText(s, t))
	}
	return nil
}

// QuantityOf splits the name of a test from the name of its value: "fuel
// temperature tank".
func QuantityOf(text string) (test, value string, ok bool) {
	words := strings.Fields(text)
	for n := len(words) - 1; n > 0; n-- {
		name := strings.Join(words[:n], " ")
		if t, is := schema.FindReading(name); is {
			return t.Name, strings.Join(words[n:], " "), true
		}
	}
	return "", "", false
}

// TrendText is a trend in a line. A slope that is only the noise of floating
// point is none.
func TrendText(s past.Series, t past.Trend) string {
	text := fmt.Sprintf("%s: %+.3g %s a year over %.1f years, from %.3g to %.3g", s.Name, rounded(t.PerYear, 9)+0, s.Unit, t.Years, t.First, t.Last)
	if t.Drifts {
		text += "; it moved the same way on the last three visits"
	}
	return text
}

// unitColumn is a column's name with its unit.
func unitColumn(name, unit string) string {
	unit = strings.NewReplacer("%", "percent", "/", "_per_", " ", "_", ".", "_").Replace(unit)
	return name + "_" + strings.ToLower(unit)
}
