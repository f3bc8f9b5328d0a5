package audit

import (
	"bytes"
	"strings"

	"feedproof/schema"
)

// mostFound bounds how many records are looked into for their entries.
const mostFound = 100

var _ = register(Question{
	ID: "Q21", Name: "find", Title: "Where does this word stand: plate, chassis number, part, lot, serial, person, or any word?",
	Args: []Arg{{Name: "WORDS", What: "one or more words; each must begin a word of the record", Kind: Words}},
	How: "Every word of every record is looked through: cars, parts, gauges and the shop's own. A record is found when each of the words begins one of its words, " +
		"whatever the case, dashes and dots. Its rows are the entries that hold any of them.",
	Needs: "Numbers that were measured, hashes and signatures are not searched.",
}, askFind)

func askFind(a *asking) error {
	a.columns("record: kind", "name: what it is called", "at: when", "by: who", "fact: the entry in a line")
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
		err := a.Facts(kind, tableWords, func(record string, facts []byte) error {
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
	r, err := a.Record(kind, record)
	if err != nil {
		return err
	}
	name := record
	if kind == schema.VehicleRecord {
		f, err := a.car(record)
		if err != nil {
			return err
		}
		name = f.Name
	}
	a.foundIn(r, name, wanted)
	return nil
}

// foundIn adds the entries that hold all of the words, else those that hold
// any.
func (a *asking) foundIn(r schema.Record, name string, wanted []string) {
	var all, some []schema.Entry
	for _, e := range r.Entries {
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
			all = append(all, e)
		case n > 0:
			some = append(some, e)
		}
	}
	if len(all) == 0 {
		all = some
	}
	if len(all) == 0 && len(r.Entries) > 0 { // the record's own id holds the words
		all = r.Entries[:1]
	}
	for _, e := range all {
		a.add(r.Kind, r.ID, []string{e.ID}, string(r.Kind), name, minute(e.At), e.By, a.Fact(e))
	}
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
