package audit

import (
	"feedproof/checklist/past"
	"feedproof/checklist/state"
	"feedproof/schema"
)

var _ = register(Question{
	ID: "Q15", Name: "edits", Title: "What was written into a record after it was signed off, or after an incident froze it?",
	How: "Listed is work, plans, cautions, answers and logs that were recorded after the last sign-off of their visit, and every correction of an entry that a sign-off had already covered, or that stood before an incident. " +
		"Notes, evidence, the end of the visit and the re-check may follow a sign-off. Recorded after it is what it had not seen. Nothing is ever overwritten: a correction stands beside what it corrects.",
	Needs: "Bytes that were changed outside the program are found by `feedproof verify`.",
}, askEdits)

func askEdits(a *asking) error {
	a.carColumns("visit: number", "written: when", "by: who", "kind: of entry", "what: recorded after, or what it takes back", "after: date of the sign-off or incident")
	err := each(a, tableEdits, "", func(record string, rows []editFact) error {
		for _, f := range rows {
			if err := a.row(record, []string{f.Entry, f.After.Entry, f.Changes}, f.Visit, minute(f.at()), f.By, f.Kind, f.What, f.After.day()); err != nil {
				return err
			}
		}
		return nil
	})
	a.sortRows(0, 3)
	return err
}

var tableEdits = vehicleTable("edits", editFacts)

// editFact is something written into what was signed or frozen already.
type editFact struct {
	stamp
	Kind    string `json:"k"`
	After   *stamp `json:"a"` // the sign-off or the incident
	What    string `json:"w"`
	Changes string `json:"c,omitempty"` // the entry that it takes back
	Visit   string `json:"v"`
}

// free may be written after a sign-off: words, the car leaving, the re-check.
func free(e schema.Entry) bool {
	switch e.Kind {
	case "note", "visit", "evidence", "signoff", "incident":
		return true
	case "holdpoint":
		d, err := schema.Into[schema.HoldPointData](e)
		return err == nil && d.Point == "HP11"
	}
	return false
}

// unknownTo reports an entry that another had not seen.
func unknownTo(c *state.Car, signed, e schema.Entry) bool {
	return e.ID != signed.ID && !c.Sight.Saw(signed.ID, e.ID)
}

func editFacts(s subject) []editFact {
	var out []editFact
	for _, v := range s.visits {
		if v.Release == nil {
			continue
		}
		for _, e := range v.Entries {
			if unknownTo(s.car, v.Release.Entry, e) && !free(e) && e.Kind != "correct" {
				out = append(out, editFact{stamp: *stampOf(e), Kind: e.Kind, After: stampOf(v.Release.Entry), What: "recorded after the sign-off of its visit", Visit: v.Number})
			}
		}
	}
	return append(out, takenBack(s.car, s.visits)...)
}

// takenBack are corrections of entries that a sign-off had seen, or that an
// incident froze.
func takenBack(c *state.Car, visits []past.Visit) []editFact {
	var out []editFact
	for _, e := range c.Written() {
		d, is := past.As[schema.CorrectData](e)
		if !is || c.TakenBack(e) {
			continue
		}
		target, ok := c.Record.Entry(d.Entry)
		if !ok {
			continue
		}
		v, _ := past.VisitAt(visits, e)
		add := func(after schema.Entry, what string) {
			out = append(out, editFact{stamp: *stampOf(e), Kind: e.Kind, After: stampOf(after), What: what, Changes: d.Entry, Visit: v.Number})
		}
		if s, ok := between(c.Record, "signoff", target, e); ok {
			add(s, string(d.Action)+" of a "+target.Kind+" that was signed off")
		}
		if i, ok := between(c.Record, "incident", target, e); ok {
			add(i, string(d.Action)+" of a "+target.Kind+" from before the incident")
		}
	}
	return out
}

// between finds the first entry of a kind after one entry and before another.
func between(r schema.Record, kind string, from, to schema.Entry) (schema.Entry, bool) {
	for _, e := range state.Written(r) {
		if e.Kind == kind && schema.Order(from, e) < 0 && schema.Order(e, to) < 0 {
			return e, true
		}
	}
	return schema.Entry{}, false
}
