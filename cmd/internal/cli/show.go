package cli

import (
	"time"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"
)

// top is the line over every screen of a car.
func top(out *terminal.Screen, c desk.Car, a checklist.Assessment) {
	st := desk.Stands(c, a)
	held := ""
	if st.Held {
		held = " · HELD"
	}
	out.Head("%s%s · %s%s · next %s · %d red, %d amber", desk.Describe([]string{c.Data.Name, c.Data.Plate, tail(c.Data.VIN)}), inBay(st.Bay), st.Seen(), held, orDash(st.Point), st.Red, st.Amber)
}

// waiting lists what is not recorded yet: one line each, with what it asks for.
func waiting(out *terminal.Screen, found []schema.Finding) {
	if len(found) == 0 {
		return
	}
	if out.Terminal() {
		out.Head("%s for a record:", desk.Plural(len(found), "thing")+" waiting")
	}
	var rows [][]string
	for _, f := range found {
		rows = append(rows, []string{out.Short(f.Severity), f.Rule, f.About + ": " + f.Limit})
	}
	out.Table([]string{"", "RULE", "WHAT: WHAT SHOWS IT"}, rows)
}

// told is a progress that nobody may be looking at.
func told(progress func(done, total int)) func(done, total int) {
	if progress == nil {
		return func(int, int) {}
	}
	return progress
}

// when is a time as it stands in a table: RFC 3339 in a pipe, day and minute
// of this place on a terminal.
func when(out *terminal.Screen, now time.Time, stamp string) string {
	t, err := time.Parse(time.RFC3339, stamp)
	if err != nil || !out.Terminal() {
		return stamp
	}
	if t.Year() != now.Year() {
		return t.Local().Format("2006-01-02 15:04")
	}
	return t.Local().Format("01-02 15:04")
}
