package audit

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
)

const newHand = 24 * time.Hour // after a change of the roster; source: common practice, a day

var _ = register(Question{
	ID: "Q27", Name: "roster", Title: "What changed in the roster, and what did that person answer for within a day?",
	How: "Listed is every entry that added or changed a person or a key, also one that was taken back later. Beside it stands what that person closed, confirmed, acknowledged, waived and signed off " +
		"within 24 h after it, by when it is said to have happened or by when it was typed, whichever falls into that time.",
	Needs: "What the person only read or did on cars is in `feedproof ask find`. A wrong clock moves an act out of the day.",
}, askRoster)

func askRoster(a *asking) error {
	a.columns("changed: when", "by: who changed it", "person: whose", "what: changed", "entry: of the shop's record", "taken_back: by a later correction", "car: on which they acted within a day", "acts: what they did there")
	shop, err := a.Shop()
	if err != nil {
		return err
	}
	changes := rosterChanges(shop.Record)
	acted := map[string]bool{} // changes that somebody acted after
	err = each(a, tableActs, "", func(record string, rows []actFact) error {
		car, err := a.car(record)
		for _, c := range changes {
			if entries, words := c.within(rows); len(entries) > 0 {
				acted[c.Entry] = true
				a.add(schema.VehicleRecord, record, entries, c.cells(car.Name, strings.Join(words, "; "))...)
			}
		}
		return err
	})
	for _, c := range changes {
		if !acted[c.Entry] {
			a.add(schema.ShopRecord, shop.Record.ID, []string{c.Entry}, c.cells("", "")...)
		}
	}
	a.sortRows(0, 2, 6)
	return err
}

// rosterChange is an entry that changed the roster.
type rosterChange struct {
	stamp
	typed        int64 // Unix time
	person, what string
	gone         bool
}

func (c rosterChange) cells(car, acts string) []any {
	return []any{minute(c.at()), c.By, c.person, c.what, c.Entry, c.gone, car, acts}
}

// within are the acts of the change's person within a day after it.
func (c rosterChange) within(acts []actFact) (entries, words []string) {
	soon := func(t int64) bool { return t >= c.typed && t-c.typed <= int64(newHand/time.Second) }
	for _, f := range acts {
		if f.By == c.person && (soon(f.Unix) || soon(f.Typed)) {
			entries, words = append(entries, f.Entry), append(words, f.What)
		}
	}
	return entries, words
}

// rosterChanges are those of a shop's record, in its order.
func rosterChanges(shop schema.Record) []rosterChange {
	var all []rosterChange
	gone, people := state.Corrections(shop), map[string]schema.PersonData{}
	for _, e := range state.Written(shop) {
		c := rosterChange{stamp: *stampOf(e), typed: e.Entered.Unix()}
		if d, err := schema.Into[schema.PersonData](e); err == nil {
			was, known := people[d.Person]
			c.person, c.what, people[d.Person] = d.Person, personWords(was, known, d), d
		}
		if d, err := schema.Into[schema.KeyData](e); err == nil {
			c.person, c.what = d.Person, strings.TrimSpace(fmt.Sprintf("key: %s %s", d.Action, d.Why))
		}
		_, c.gone = gone[e.ID]
		if c.person != "" {
			all = append(all, c)
		}
	}
	return all
}

func personWords(was schema.PersonData, known bool, d schema.PersonData) string {
	switch {
	case !known:
		return "added: " + roleWords(d.Roles)
	case !slices.Equal(was.Roles, d.Roles):
		return "roles: " + roleWords(was.Roles) + " to " + roleWords(d.Roles)
	case was.Key != d.Key:
		return "another key"
	}
	return "name or initials"
}

func roleWords(roles []schema.Role) string {
	words := make([]string, len(roles))
	for i, r := range roles {
		words[i] = string(r)
	}
	return strings.Join(words, ", ")
}

var tableActs = vehicleTable("acts", actFacts)

// actFact is an act that somebody answers for: a closing, an answer to a
// finding, a sign-off; also one that was taken back.
type actFact struct {
	stamp
	Typed int64  `json:"x"` // Unix time
	What  string `json:"w"`
}

func actFacts(s subject) []actFact {
	var out []actFact
	for _, e := range s.car.Written() {
		what := ""
		switch e.Kind {
		case "holdpoint":
			if d, err := schema.Into[schema.HoldPointData](e); err == nil && d.Action == schema.ClosePoint {
				what = "closed " + d.Point
			}
		case "confirm":
			what = "confirmed"
		case "acknowledge":
			what = "acknowledged"
		case "waive":
			what = "waived"
		case "signoff":
			what = "signed off"
		}
		if what != "" {
			out = append(out, actFact{*stampOf(e), e.Entered.Unix(), what})
		}
	}
	return out
}
