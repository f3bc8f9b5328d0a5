package past

import (
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
)

// KnownAt is the record as it was known at a moment: the entries that had been
// typed by then, by the clock of the device that each was typed on. What was
// written later about an earlier day was not known then. Clocks can be wrong:
// what a commit held is told by the commit itself.
func KnownAt(r schema.Record, moment time.Time) schema.Record {
	return state.Only(r, func(e schema.Entry) bool { return !e.Entered.After(moment) })
}
