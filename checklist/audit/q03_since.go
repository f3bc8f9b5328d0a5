package audit

import (
	"feedproof/checklist/past"
	"feedproof/checklist/state"
	"feedproof/schema"
)

var _ = register(Question{
	ID: "Q03", Name: "since", Title: "What changed on this car since its last visit?",
	Args: []Arg{{Name: "CAR", What: "a car", Kind: Car}},
	How: "The last visit is put beside the one before it: components, calibration, the signed envelope beside the one planned now, what the customer declared, " +
		"and what both visits measured last, same test and like conditions. Tolerances (common practice): base pressure 0.07 bar, pressure difference under load 0.05 bar, " +
		"volts at the pump 0.2 V, current 10 % at like volts, timed flow 5 % at like pressure and volts, duty 3 points, leak-down 0.15 bar in 5 min, fuel temperature 5 K at like air. " +
		"Ethanol is compared with the envelope. Alarms: 10 % less flow, twice the filter's drop, 5 points more duty, base pressure moving one way on three visits.",
}, askSince)

func askSince(a *asking) error {
	a.columns("what: what is compared", "before: then", "after: now", "change: by how much", "tolerance: within which it is the same", "say: changed, beyond, alarm, or why it cannot be compared")
	r, err := a.Record(schema.VehicleRecord, a.args["CAR"])
	if err != nil {
		return err
	}
	since, ok := past.SinceLast(state.Fold(state.Told(r), schema.Shop{}, a.now))
	if !ok {
		a.note("the car has had fewer than two visits")
		return nil
	}
	add := func(entries []string, cells ...any) { a.add(schema.VehicleRecord, r.ID, entries, cells...) }
	for _, c := range since.Changes {
		add(c.Entries, c.What, c.Before, c.After, "", "", "changed")
	}
	for _, m := range since.Readings {
		add(m.Entries, m.What, m.Before, m.After, m.Change, m.Tolerance, sayReading(m))
	}
	for _, g := range since.Again {
		add(g.Entries, "again: "+g.What, "", "", "", "", g.Why)
	}
	a.note("visit %s beside visit %s, %d days apart%s", since.After, since.Before, since.Days, prefixed(", driven ", since.Driven))
	return nil
}

func sayReading(m past.Reading) string {
	switch {
	case m.Unlike != "":
		return "not compared: " + m.Unlike
	case m.Alarm != "":
		return "alarm: " + m.Alarm
	case m.Beyond:
		return "beyond"
	}
	return "same"
}

func prefixed(prefix, text string) string {
	if text == "" {
		return ""
	}
	return prefix + text
}
