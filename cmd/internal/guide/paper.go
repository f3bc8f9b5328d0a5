package guide

import (
	"strings"
	"time"

	"feedproof/schema"
)

// late says that what is typed comes from a paper sheet.
func (w *Work) late() string {
	if w.paper == "" {
		return ""
	}
	return "from paper sheet " + w.paper
}

// marked says that a text comes from paper, when it does.
func (w *Work) marked(text string) string {
	if w.paper == "" {
		return text
	}
	return text + " (" + w.late() + ")"
}

// askTime asks for the time that stands on the sheet. Where none was written
// the entry has the time at which it is typed.
func (w *Work) askTime(d schema.Data) typing {
	return typing{title: w.say("paper.time"), leave: w.say("paper.untimed"), done: func(text string) {
		at, ok := timeOfDay(text, w.now())
		if !ok {
			w.problem = w.say("paper.no.time", text)
			return
		}
		w.recordAt(at, d)
	}, empty: func() { w.recordAt(w.now(), d) }}
}

// timeOfDay reads 09:14, 9.14 or 0914: the last such moment that is not after
// now.
func timeOfDay(text string, now time.Time) (time.Time, bool) {
	digits := strings.NewReplacer(":", "", ".", "", ",", "").Replace(text)
	if len(digits) == len("914") {
		digits = "0" + digits
	}
	t, err := time.ParseInLocation("1504", digits, now.Location())
	if err != nil {
		return time.Time{}, false
	}
	at := time.Date(now.Year(), now.Month(), now.Day(), t.Hour(), t.Minute(), 0, 0, now.Location())
	if at.After(now) {
		at = at.AddDate(0, 0, -1)
	}
	return at, true
}
