package cli

import (
	"strings"

	"feedproof/checklist/state"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/sheets"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"
)

// codeJSON is what a sheet's code says, as --json prints it.
type codeJSON struct {
	Vehicle string `json:"vehicle"`
	Code    string `json:"code"`
	Entries int    `json:"entries"` // the first so many of the record are on the sheet
	Since   int    `json:"since"`   // entries that came after it
	Draft   bool   `json:"draft"`   // some of those on the sheet are not committed
}

// checkCode holds the code of a sheet against the record: it belongs to the
// first so many entries, or to none of its states.
func checkCode(d *desk.Desk, out *terminal.Screen, car, code string) error {
	if car == "" {
		return wrong("feedproof verify CAR --code "+code, "--code: of which car")
	}
	c, err := d.Car(car)
	if err != nil {
		return err
	}
	entries := state.Written(c.Whole())
	n, ok := stateOf(entries, code)
	if !ok {
		return &desk.Error{Kind: desk.NotProven, Mend: "feedproof sheet " + desk.Quoted(c.Data.Name),
			Wrong: "code " + code + ": belongs to no state of the record of " + c.Data.Name + ": the sheet is of another car, was changed, or holds entries that this shop does not have"}
	}
	state := codeJSON{c.Data.Name, code, n, len(entries) - n, !committed(c, entries[:n])}
	if out.AsJSON() {
		return out.JSON(state)
	}
	out.Say("code %s: the sheet was made from the record of %s as it stood after %s", code, c.Data.Name, desk.Plural(n, "entry"))
	if state.Draft {
		out.Say("some of them are not committed on this machine yet")
	}
	if state.Since > 0 {
		out.Say("%s came after it: a new sheet is due: feedproof sheet %s", desk.Plural(state.Since, "entry"), desk.Quoted(c.Data.Name))
	}
	return nil
}

// stateOf finds how many of the entries a code was made from.
func stateOf(entries []schema.Entry, code string) (int, bool) {
	want := strings.ToLower(strings.TrimSpace(code))
	for n := len(entries); n > 0; n-- {
		if sheets.Code(entries[:n]) == want {
			return n, true
		}
	}
	return 0, false
}

func committed(c desk.Car, entries []schema.Entry) bool {
	for _, e := range entries {
		if _, ok := c.Record.Entry(e.ID); !ok {
			return false
		}
	}
	return true
}
