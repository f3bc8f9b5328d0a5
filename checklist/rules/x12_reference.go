package rules

import (
	"math"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "X12", Title: "a rail gauge that reads one atmosphere at rest",
	What:   "The last rail reading with the pump off and the line bled, or the lowest of the last log with the engine still, is one atmosphere, up or down: an absolute sensor read as gauge, or the other way round.",
	Limits: "not within 0.05 bar of the barometer, above or below zero",
	Source: "common practice",
	Means:  "Every pressure of that sensor is 1 bar off.",
	Next:   "Bleed it and read again. Still one atmosphere: say which sort of sensor it is, and read the tests again.",
	Words:  Words{code.Mixed: {"the sensor may be absolute and read as gauge: 1 bar off", "bleed it and read again; then say which sort of sensor it is"}},
	Judge:  inVisit(judgeReference),
})

const atmosphereBand = 0.05 * quantity.Bar

func judgeReference(c *state.Car) []schema.Finding {
	var found []schema.Finding
	r, _ := c.Last("zero")
	if p, _ := timed[quantity.Gauge](r, "rail"); oneAtmosphere(p, barometer(r)) {
		found = append(found, referenceFinding("zero rail", "rail at rest", p, r.Entry))
	}
	l, _ := lastPull(c)
	if p, _, _ := logged[quantity.Gauge](l, logRailZero); oneAtmosphere(p, state.StandardBarometer) {
		found = append(found, referenceFinding(inLog(logRailZero), "rail at rest, log", p, l.Entry))
	}
	return found
}

func oneAtmosphere(p quantity.Gauge, barometer quantity.Absolute) bool {
	return !exceeds(math.Abs(math.Abs(float64(p))-float64(barometer)), atmosphereBand)
}

func referenceFinding(subject, about string, p quantity.Gauge, e schema.Entry) schema.Finding {
	return schema.Finding{
		Rule: "X12", Subject: subject, Code: code.Mixed, Severity: schema.Hold, Values: []schema.Amount{amount("rail", p)}, About: about, Measured: bar(p), Limit: "zero when bled", Entries: ids(e),
	}
}
