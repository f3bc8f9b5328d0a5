package checklist

import (
	"time"

	"feedproof/checklist/state"
)

// RecheckBy is the latest day for the re-check after a release now, and why it
// is earlier than [RecheckDays] on: the timed flows of the pumps come down to
// their least margin before.
func RecheckBy(c *state.Car, now time.Time) (latest time.Time, why string) {
	latest = now.AddDate(0, 0, RecheckDays)
	w, err := Wear(c)
	if err != nil || !w.Meets {
		return latest, ""
	}
	day, known := w.By()
	if !known || !day.Before(latest) {
		return latest, ""
	}
	if day.Before(now) {
		day = now
	}
	return day, "the flow margin by timed flows " + w.Outlook()
}
