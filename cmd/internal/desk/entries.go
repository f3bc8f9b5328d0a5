package desk

import (
	"strconv"
	"strings"

	"feedproof/checklist/state"
	"feedproof/schema"
)

// shortestID is how much of the end of an entry's id may stand for it.
const shortestID = 6

// Entry finds an entry of a car by its number, its id or the end of it, or last.
func (c Car) Entry(name string) (schema.Entry, error) {
	entries := state.Written(c.Whole())
	if name == "last" && len(entries) > 0 {
		return entries[len(entries)-1], nil
	}
	number, numberErr := strconv.ParseInt(strings.TrimPrefix(name, "#"), 10, 64)
	var found []schema.Entry
	for _, e := range entries {
		if numberErr == nil && e.Counter == number || e.ID == name || len(name) >= shortestID && strings.HasSuffix(e.ID, strings.ToUpper(name)) {
			found = append(found, e)
		}
	}
	fix := "feedproof history " + c.Data.Name
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return schema.Entry{}, usage(fix, "entry "+name, "is not in the record of %s", c.Data.Name)
	}
	var ids []string
	for _, e := range found {
		ids = append(ids, e.ID+" by "+e.By)
	}
	return schema.Entry{}, usage(fix, "entry "+name, "could be %s", strings.Join(ids, " or "))
}
