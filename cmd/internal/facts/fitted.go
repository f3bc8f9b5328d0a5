package facts

import (
	"fmt"
	"slices"
	"time"

	"feedproof/checklist/state"
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

func day(t time.Time) string { return t.UTC().Format(time.DateOnly) }
