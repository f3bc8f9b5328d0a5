package audit

import (
	"bytes"
	"regexp"
	"slices"
	"strings"

	"feedproof/checklist/state"
	"feedproof/schema"
)

// mostFound bounds how many records are looked into for their entries.
const mostFound = 100

var _ = register(Question{
	ID: "Q21", Name: "find", Title: "Where does this word stand: plate, chassis number, part, lot, serial, person, or any word?",
	Args: []Arg{{Name: "WORDS", What: "one or more words; each must begin a word of the record; or where a row comes from", Kind: Words}},
	How: "Every word of every record is looked through: cars, parts, gauges and the shop's own. A record is found when each of the words begins one of its words, " +
		"whatever the case, dashes and dots. Its rows are the entries that hold any of them. " +
		"The last six characters of a chassis number find it too. " +
		"What another answer says it comes from, `vehicle/ID ENTRY ...`, or the entries alone, finds just these entries.",
	Needs: "Not searched: numbers that were measured, hashes, signatures, and words that the program has set, such as the names of tests and the states of steps. The other questions and `feedproof export` go by those.",
}, askFind)

func askFind(a *asking) error {
	a.columns("found_in: kind of record", "name: what it is called", "at: when", "by: who", "fact: the entry in a line")
	if kind, id, entries, is := origin(a.args["WORDS"]); is {
		return a.findEntries(kind, id, entries)
	}
	if ids := strings.Fields(a.args["WORDS"]); len(ids) > 0 && !slices.ContainsFunc(ids, func(w string) bool { return !entryID.MatchString(w) }) {
		return a.findAnywhere(ids)
	}
	var wanted []string
	for _, w := range strings.Fields(a.args["WORDS"]) {
		if f := foldWord(w); f != "" {
			wanted = append(wanted, f)
		}
	}
	if len(wanted) == 0 {
		return &UsageError{a.answer.Question, "there is no word to look for"}
	}
	found := 0
	for _, kind := range []schema.RecordKind{schema.VehicleRecord, schema.PartRecord, schema.GaugeRecord} {
		var records []string
		err := a.Facts(kind, TableWords, func(record string, facts []byte) error {
			if holdsAll(facts, wanted) {
				records = append(records, record)
			}
			return nil
		})
		if err != nil {
			return err
		}
		for _, record := range records {
			if found++; found <= mostFound {
				if err := a.foundRows(kind, record, wanted); err != nil {
					return err
				}
			}
		}
	}
	if err := a.findInShop(wanted); err != nil {
		return err
	}
	if found > mostFound {
		a.note("%d records hold these words; the first %d are shown: say more words", found, mostFound)
	}
	return nil
}

// origin reads where a row comes from, as answers print it: the record, and the
// entries of it.
func origin(text string) (kind schema.RecordKind, id string, entries []string, is bool) {
	words := strings.Fields(text)
	if len(words) == 0 {
		return "", "", nil, false
	}
	name, id, is := strings.Cut(words[0], "/")
	kind = schema.RecordKind(name)
	return kind, id, words[1:], is && id != "" && slices.Contains(schema.RecordKinds, kind)
}

// findEntries adds the entries of a record, all of them when none is named. An
// answer may rest on entries of another record too.
func (a *asking) findEntries(kind schema.RecordKind, id string, entries []string) error {
	r, name, err := a.named(kind, id)
	if err != nil {
		return err
	}
	a.found(r, name, func(e schema.Entry) bool { return len(entries) == 0 || slices.Contains(entries, e.ID) })
	left := slices.DeleteFunc(slices.Clone(entries), func(id string) bool { _, here := r.Entry(id); return here })
	return a.findAnywhere(left)
}

// entryID is what the id of an entry looks like: a ULID.
var entryID = regexp.MustCompile(`^[0-9A-HJKMNP-TV-Z]{26}$`)

// findAnywhere adds entries that an answer named without their record, and
// records by the ids of their own.
func (a *asking) findAnywhere(ids []string) error {
	found := 0
	for _, kind := range []schema.RecordKind{schema.VehicleRecord, schema.PartRecord} {
		records, err := a.answeredFrom(kind, ids)
		if err != nil {
			return err
		}
		for _, record := range records {
			r, name, err := a.named(kind, record)
			if err != nil {
				return err
			}
			whole := slices.Contains(ids, record)
			if whole {
				found++
			}
			a.found(r, name, func(e schema.Entry) bool {
				named := slices.Contains(ids, e.ID)
				if named {
					found++
				}
				return named || whole
			})
		}
	}
	if found < len(ids) {
		a.note("%d of the %d entries are in no answer: name their record too, vehicle/ID ENTRY", len(ids)-found, len(ids))
	}
	return nil
}

// answeredFrom are the records of a kind whose own id is among some, or in
// whose answers one is.
func (a *asking) answeredFrom(kind schema.RecordKind, ids []string) ([]string, error) {
	if len(ids) == 0 {
		return nil, nil
	}
	all, err := a.IDs(kind)
	if err != nil {
		return nil, err
	}
	records := slices.DeleteFunc(slices.Clone(all), func(id string) bool { return !slices.Contains(ids, id) })
	for _, g := range gatherers {
		if g.kind != kind || !g.inAnswer {
			continue
		}
		err := a.Facts(kind, g.table, func(record string, facts []byte) error {
			if !slices.Contains(records, record) && slices.ContainsFunc(ids, func(id string) bool { return bytes.Contains(facts, []byte(id)) }) {
				records = append(records, record)
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	slices.Sort(records)
	return records, nil
}

// holdsAll reports that each wanted word begins a word of the list.
func holdsAll(facts []byte, wanted []string) bool {
	for _, w := range wanted {
		if !bytes.Contains(facts, []byte("\n"+w)) {
			return false
		}
	}
	return true
}

func (a *asking) foundRows(kind schema.RecordKind, record string, wanted []string) error {
	r, name, err := a.named(kind, record)
	if err != nil {
		return err
	}
	a.foundIn(r, name, wanted)
	return nil
}

// named is a record, and what people call it.
func (a *asking) named(kind schema.RecordKind, record string) (schema.Record, string, error) {
	r, err := a.Record(kind, record)
	name := record
	if err == nil && kind == schema.VehicleRecord {
		name = state.Fold(state.Told(r), schema.Shop{}, a.now).Vehicle.Name
	}
	return r, name, err
}

// found adds the entries of a record that are wanted.
func (a *asking) found(r schema.Record, name string, wanted func(schema.Entry) bool) {
	told := a.Told(r)
	for i, e := range state.Written(r) {
		if wanted(e) {
			a.add(r.Kind, r.ID, []string{e.ID}, string(r.Kind), name, minute(e.At), e.By, told[i])
		}
	}
}

// foundIn adds the entries that hold all of the words, else those that hold
// any.
func (a *asking) foundIn(r schema.Record, name string, wanted []string) {
	var all, some []string
	for _, e := range state.Written(r) {
		set := newWordSet()
		set.entry(e)
		n := 0
		for _, w := range wanted {
			if begins(set.words, w) {
				n++
			}
		}
		switch {
		case n == len(wanted):
			all = append(all, e.ID)
		case n > 0:
			some = append(some, e.ID)
		}
	}
	if len(all) == 0 {
		all = some
	}
	if first := state.Written(r); len(all) == 0 && len(first) > 0 { // the record's own id holds the words
		all = []string{first[0].ID}
	}
	a.found(r, name, func(e schema.Entry) bool { return slices.Contains(all, e.ID) })
}

func begins(set map[string]bool, w string) bool {
	for have := range set {
		if strings.HasPrefix(have, w) {
			return true
		}
	}
	return false
}

func (a *asking) findInShop(wanted []string) error {
	shop, err := a.Shop()
	if err != nil {
		return err
	}
	if holdsAll(words(shop.Record), wanted) {
		a.foundIn(shop.Record, shop.Record.ID, wanted)
	}
	return nil
}
