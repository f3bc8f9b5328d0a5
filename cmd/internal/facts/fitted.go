package facts

import (
	"fmt"
	"slices"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
)

// Fitted lists what is fitted: where, part, by, date, what it is.
func Fitted(c *state.Car) [][]string {
	var rows [][]string
	for _, position := range sortedKeys(c.Fitted) {
		f := c.Fitted[position]
		name := f.Data.WhyNone
		if f.Part != nil {
			name = joined(", ", f.Part.Name, f.Part.Mark, with("lot ", f.Part.Lot))
		}
		rows = append(rows, []string{position, count(f.Data.Count) + f.Data.Part, f.Entry.By, day(f.Entry.At), name})
	}
	return rows
}

func count(n int) string {
	if n < 2 {
		return ""
	}
	return fmt.Sprintf("%d x ", n)
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// SignedOff is the sign-off that still stands: no entry of the visit came
// after it but notes, and the end of the visit.
func SignedOff(c *state.Car) (state.SignOff, bool) {
	if len(c.SignOffs) == 0 {
		return state.SignOff{}, false
	}
	last := c.SignOffs[len(c.SignOffs)-1]
	for _, e := range c.Record.Entries {
		if schema.Order(e, last.Entry) > 0 && e.Kind != "note" && e.Kind != "visit" {
			return last, false
		}
	}
	return last, true
}

func day(t time.Time) string { return t.UTC().Format(time.DateOnly) }
