package rules

import (
	"fmt"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "L43", Title: "the pump's wear, from the timed flows of all visits",
	What: "From three timed flows (V-12) on, since the pumps were last changed: each over the curve at its own pressure and volts, with its uncertainty, and a weighted line through them over distance, or over days where an odometer is missing. " +
		"The lower bound of the flow margin takes the place of the assumed ageing. It says when that bound meets the least margin of the plan, and nothing further ahead than the tests reach back. An outlier is marked and counts until it is explained.",
	Formula: "r = measured / Q(p, U); low = y - sqrt(k^2 var y + (1.645 u_c)^2), k the larger of 1.645 and t sqrt(chi^2 / nu); margin = new pump's margin x low",
	Limits:  "OK while the lower bound is at least 1.20 (1.25 above E50); FLAG below; HOLD where the line itself is below 1.10, BLOCK below 1.00",
	Source:  "JCGM 100:2008 5.1 and H.3; limits: common practice",
	Means:   "The pump has lost so much that what is left may not carry the envelope to the next look.",
	Next:    "Time the flow again before the date; another pump, found volts, or a lower envelope. feedproof history CAR --reading \"flow ratio\" shows the tests.",
	Words: Words{
		code.Outside:   {"the pump has worn", "time its flow again before then; another pump, found volts, or a lower envelope"},
		code.Scattered: {"the tests disagree more than their gauges allow", "repeat the test that stands off: fuel temperature, volts at the pump, filter"},
	},
	Envelope: true,
	Judge:    inVisit(judgeWear),
})

func judgeWear(c *state.Car) []schema.Finding {
	if c.Plan == nil {
		return nil
	}
	w, err := WearOf(c)
	if err != nil || w.Trend == nil {
		return nil
	}
	f := schema.Finding{
		Rule: "L43", Subject: "wear", About: "flow margin by timed flows", Limit: fmt.Sprintf("lower bound at least %.2f", float64(w.Level)), Entries: builtAs(c),
		Values: []schema.Amount{ratio("margin", float64(w.Margin)), ratio("low", float64(w.Low)), howMany("tests", len(w.Tests))},
		Limits: []schema.Bound{{Name: "low", AtLeast: figures(float64(w.Level))}},
	}
	for _, t := range w.Tests {
		f.Entries = append(f.Entries, t.Entry.ID)
	}
	f.Measured = fmt.Sprintf("%.2f, at least %.2f, from %d tests; %s", float64(w.Margin), float64(w.Low), len(w.Tests), w.Outlook())
	f.Severity = max(floorScale{{1.10, schema.Hold}, {1.00, schema.Block}}.grade(float64(w.Margin)), floorScale{{float64(w.Level), schema.Flag}}.grade(float64(w.Low)))
	if f.Severity == schema.OK && (w.Trend.Disagree() || len(w.Trend.Outliers) > 0) {
		f.Severity, f.Code = schema.Note, code.Scattered
	}
	return []schema.Finding{f}
}

// Outlook is when the lower bound meets the least margin, in words.
func (w Wear) Outlook() string {
	if w.Trend == nil {
		return w.Why
	}
	at := w.Position(w.Until)
	if day, ok := w.By(); ok && w.Axis == "km" {
		at += fmt.Sprintf(", about %s at %.0f km a day", day.Format(time.DateOnly), w.PerDay)
	}
	text := "not before " + at
	if w.Meets {
		text = "meets " + fmt.Sprintf("%.2f", float64(w.Level)) + " at " + at
	}
	if !w.Trend.Shown() {
		text += "; no trend shown"
	}
	if len(w.Trend.Outliers) > len(w.Trend.Tests)/2 {
		return text + "; the tests lie on no straight line"
	}
	for _, i := range w.Trend.Outliers {
		text += fmt.Sprintf("; the test at %s stands off", w.Position(w.Trend.Tests[i].X))
	}
	return text
}

// Position is a place on the axis in words.
func (w Wear) Position(x float64) string {
	if w.Axis == "km" {
		return fmt.Sprintf("%.0f km", x)
	}
	return w.Tests[0].Entry.At.Add(time.Duration(x * 24 * float64(time.Hour))).Format(time.DateOnly)
}
