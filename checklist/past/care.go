package past

import (
	"fmt"
	"regexp"

	"feedproof/checklist/state"
	"feedproof/schema"
)

// Care is the end of the shop's care for a car: it was sold on, scrapped or
// taken elsewhere, and its record is kept until a date. It stands in the record
// as a note in fixed words, so that anybody can read it.
type Care struct {
	Entry schema.Entry
	Why   string
	Until string // RFC 3339 full-date
}

var careEnded = regexp.MustCompile(`^care ended: (.+); keep the record until (\d{4}-\d{2}-\d{2})$`)

// CareNote is the note that ends the shop's care.
func CareNote(why, until string) schema.NoteData {
	return schema.NoteData{Text: fmt.Sprintf("care ended: %s; keep the record until %s", why, until)}
}

// CareEnded finds the end of the shop's care, unless a visit was opened after
// it.
func CareEnded(c *state.Car, visits []Visit) (Care, bool) {
	var last Care
	for _, e := range c.Standing() {
		d, is := As[schema.NoteData](e)
		if !is {
			continue
		}
		if m := careEnded.FindStringSubmatch(d.Text); m != nil {
			last = Care{e, m[1], m[2]}
		}
	}
	back := len(visits) > 0 && last.Until != "" && schema.Order(visits[len(visits)-1].Open, last.Entry) > 0
	return last, last.Until != "" && !back
}
