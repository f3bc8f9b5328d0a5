package audit

import (
	"fmt"
	"strings"
	"time"

	"feedproof/checklist/past"
	"feedproof/checklist/state"
	"feedproof/schema"
)

var _ = register(Question{
	ID: "Q20", Name: "known-at", Title: "What was known of this car at a moment, such as its release?",
	Args: []Arg{{Name: "CAR", What: "a car", Kind: Car}, {Name: "TIME", What: "a day and time, RFC 3339, a date for the end of that day, or release: what the last sign-off had seen", Kind: Moment}},
	How: "At a time: the entries that had been typed by then, by the clock of the device each was typed on; what was written later about an earlier day is left out. " +
		"At the release: exactly the entries that the lead's statement covers, proved by their number and digest, whatever any clock said. " +
		"What a commit held is shown by `feedproof history CAR --at COMMIT`.",
}, askKnownAt)

func askKnownAt(a *asking) error {
	a.columns("order: counter", "happened: as claimed", "typed: when", "by: who", "kind: of entry", "fact: in a line")
	r, err := a.Record(schema.VehicleRecord, a.args["CAR"])
	if err != nil {
		return err
	}
	known, said, err := KnownAt(r, a.args["TIME"])
	if err != nil {
		return &UsageError{a.answer.Question, err.Error()}
	}
	told := a.Told(known)
	for i, e := range state.Written(known) {
		a.add(schema.VehicleRecord, r.ID, []string{e.ID}, int(e.Counter), minute(e.At), minute(e.Entered), e.By, e.Kind, told[i])
	}
	a.note("%s", said)
	return nil
}

// KnownAt is the record as it was known at a time, at the end of a day, or as
// the last sign-off had seen it ("release"), and in words by what that was
// decided.
func KnownAt(r schema.Record, when string) (schema.Record, string, error) {
	if strings.EqualFold(when, "release") {
		return seenByRelease(r)
	}
	at, err := time.Parse(time.RFC3339, when)
	if day, dayErr := time.Parse(time.DateOnly, when); err != nil && dayErr == nil {
		at, err = day.AddDate(0, 0, 1).Add(-time.Second), nil
	}
	if err != nil {
		return r, "", fmt.Errorf("%q is neither a time, nor a date, nor release", when)
	}
	known := past.KnownAt(r, at)
	return known, fmt.Sprintf("%d of %d entries had been typed by %s, by the clocks of their devices", len(state.Written(known)), len(state.Written(r)), minute(at)), nil
}

func seenByRelease(r schema.Record) (schema.Record, string, error) {
	var last *past.SignOff
	for _, v := range past.Visits(state.Fold(state.Told(r), schema.Shop{}, time.Time{})) {
		if v.Release != nil {
			last = v.Release
		}
	}
	if last == nil {
		return r, "", fmt.Errorf("the car was never signed off")
	}
	known := state.SeenBy(r, last.Entry)
	seen := state.Written(known)
	st := last.Statement
	if len(seen) == st.Entries && schema.Digest(seen) == st.Digest {
		return known, fmt.Sprintf("the %d entries that %s signed off on %s: their digest is that of the statement", st.Entries, st.Person, date(last.Entry.At)), nil
	}
	return known, fmt.Sprintf("%s signed off %d entries on %s; the %d here are what the entry says it had seen: the two do not agree, see `feedproof verify`", st.Person, st.Entries, date(last.Entry.At), len(seen)), nil
}
