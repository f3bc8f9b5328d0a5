package rules

import (
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "X31", Title: "what must be kept for a release to mean anything",
	What: "A photo that shows which car it was, taken in this visit; a part record for everything that was fitted, or why there is none; the ethanol in the tank within 24 h of the loaded pull; " +
		"and the log of that pull with the parts that are in now, or what stands in for one: a video of the gauge, attached to step I9 or h10. " +
		"All else that a release needs is asked for by hold points, readings and cautions.",
	Limits: "each is there",
	Source: "common practice",
	Means:  "Without the photo the record may be of another car; without the part nobody can be called back; without the fuel and the log nobody can look again at how the car ran under load.",
	Next:   "feedproof attach CAR PHOTO --step A3; feedproof datalog CAR FILE",
	Words: Words{
		" photo":     {"nothing shows it yet", "feedproof attach CAR PHOTO --step A3"},
		" log":       {"nothing shows it yet", "feedproof datalog CAR FILE; without a logger a video of the gauge: feedproof attach CAR FILE --step I9"},
		" ethanol":   {"nothing shows it yet", "feedproof read CAR ethanol 9%"},
		code.Missing: {"nothing shows it yet", "feedproof fit CAR {position} PART, or --no-part WHY"},
	},
	Judge: inVisit(judgeMinimum),
})

// logSteps are the steps under which a video of the gauge is kept.
var logSteps = []string{"I2", "I6", "I9", "h10"}

func judgeMinimum(c *state.Car) []schema.Finding {
	photo := slices.ContainsFunc(c.Evidence, func(e state.Evidence) bool {
		return c.InVisit(e.Entry) && strings.HasPrefix(e.Data.Type, "image/")
	})
	_, logged := lastPull(c, loadChanges...)
	video := slices.ContainsFunc(c.Evidence, func(e state.Evidence) bool {
		_, changed := c.ChangedAfter(e.Entry, loadChanges...)
		return c.InVisit(e.Entry) && !changed && slices.Contains(logSteps, e.Data.Step)
	})
	var found []schema.Finding
	if !photo {
		found = append(found, unkept("photo", "photo of the car", "one of this visit, with plate or VIN")...)
	}
	if !logged && !video {
		found = append(found, unkept("log", "log of the loaded pull", "with the parts that are in now")...)
	}
	found = append(found, untraced(c)...)
	return append(found, fuelOfTheDay(c)...)
}

func unkept(subject, about, limit string, values ...schema.Amount) []schema.Finding {
	return lacking(schema.Finding{Rule: "X31", Subject: subject, About: about, Limit: limit}, code.Missing, values...)
}

// untraced lists what was fitted in this visit with neither a part record nor a
// reason why there is none.
func untraced(c *state.Car) []schema.Finding {
	var found []schema.Finding
	for _, position := range slices.Sorted(maps.Keys(c.Fitted)) {
		if f := c.Fitted[position]; c.InVisit(f.Entry) && f.Data.Part == "" && f.Data.WhyNone == "" {
			found = append(found, unkept(position, "what the "+position+" is", "a part record, or why there is none", called("position", quoted(position)))...)
		}
	}
	return found
}

func quoted(word string) string {
	if strings.Contains(word, " ") {
		return strconv.Quote(word)
	}
	return word
}

const sameDayFuel = 24 * time.Hour

// fuelOfTheDay asks for the ethanol that was in the tank when it was loaded.
func fuelOfTheDay(c *state.Car) []schema.Finding {
	loaded, ok := lastLoaded(c)
	if !ok || slices.ContainsFunc(c.All("ethanol"), func(r state.Reading) bool {
		_, measured := timed[quantity.Fraction](r, "ethanol")
		return measured && r.Entry.At.Sub(loaded.At).Abs() <= sameDayFuel
	}) {
		return nil
	}
	return unkept("ethanol", "ethanol on the day of the loaded pull", "within 24 h of it")
}

// lastLoaded is the last log or reading of a loaded run.
func lastLoaded(c *state.Car) (schema.Entry, bool) {
	r, read := c.Last("load")
	l, _ := lastPull(c)
	if schema.Order(l.Entry, r.Entry) > 0 {
		return l.Entry, true
	}
	return r.Entry, read
}
