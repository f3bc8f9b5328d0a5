package state

import (
	"slices"

	"feedproof/schema"
)

// History is one way in which a record may have come about: its entries in an
// order of events, and which of them were taken back in it.
type History struct {
	Record  schema.Record // entries carry their ranks
	Sight   *schema.Sight // of the whole record
	dropped map[string]schema.Entry
	apart   bool // there is more than one order of events
}

// maxDisputed bounds how many corrections that did not see what they take back
// are tried one by one. No honest program writes one.
const maxDisputed = 6

// Histories are the ways in which the record may have come about, that of one
// bay alone being one. They differ where bays had not seen each other
// ([schema.Sight.Orders]), where an entry is not proven to be its author's, and
// where a correction did not see what it takes back. Who judges each as if it
// were the only one and keeps the worst of all never judges better than the
// truth: having seen less, or proven less, only adds to them.
func Histories(r schema.Record) []History {
	sight := schema.NewSight(r.Entries)
	var all []History
	orders := sight.Orders()
	for _, order := range orders {
		for _, believed := range beliefs(r, order) {
			of := schema.Record{Kind: r.Kind, Version: r.Version, ID: r.ID, Entries: believed, Doubts: r.Doubts}
			for _, dropped := range corrected(believed, sight) {
				all = append(all, History{of, sight, dropped, len(orders) > 1})
			}
		}
	}
	return all
}

// Told is the record in the order in which it is listed, for telling what
// stands in it and not for judging.
func Told(r schema.Record) History {
	r = r.With()
	sight := schema.NewSight(r.Entries)
	return History{Record: r, Sight: sight, dropped: corrections(r.Entries, sight)}
}

// beliefs are the entries with and without those whose author is not proven:
// what is good in them must not count, and what is bad must.
func beliefs(r schema.Record, order []schema.Entry) [][]schema.Entry {
	proven := slices.DeleteFunc(slices.Clone(order), func(e schema.Entry) bool { return r.Doubts[e.ID] != "" })
	if len(proven) == len(order) {
		return [][]schema.Entry{order}
	}
	return [][]schema.Entry{order, proven}
}

// corrections are those that count, by the entry that each took back. Whoever
// takes something back has seen it, and a taking-back is never taken back:
// write the fact again.
func corrections(entries []schema.Entry, sight *schema.Sight) map[string]schema.Entry {
	dropped, _ := toldBack(entries, sight)
	return dropped
}

// corrected are the ways in which corrections may count: one, unless some did
// not see what they take back. To take back something good counts at once, to
// take back something bad only from who saw it, and which of the two it was is
// for the rules to say: so each is tried.
func corrected(entries []schema.Entry, sight *schema.Sight) []map[string]schema.Entry {
	dropped, disputed := toldBack(entries, sight)
	ways := []map[string]schema.Entry{dropped}
	if len(disputed) == 0 {
		return ways
	}
	with := func(some ...schema.Entry) {
		way := map[string]schema.Entry{}
		for id, by := range dropped {
			way[id] = by
		}
		for _, e := range some {
			way[target(e)] = e
		}
		ways = append(ways, way)
	}
	with(disputed...)
	for i, e := range disputed[:min(len(disputed), maxDisputed)] {
		with(e)
		with(slices.Concat(disputed[:i], disputed[i+1:])...)
	}
	return ways
}

// toldBack tells the corrections that saw what they take back, by what they
// take back, from those that did not.
func toldBack(entries []schema.Entry, sight *schema.Sight) (seen map[string]schema.Entry, unseen []schema.Entry) {
	seen = map[string]schema.Entry{}
	kinds := map[string]string{}
	for _, e := range entries {
		kinds[e.ID] = e.Kind
	}
	for _, e := range entries {
		id := target(e)
		switch kind, there := kinds[id]; {
		case id == "" || !there || kind == e.Kind:
		case sight.Saw(e.ID, id):
			seen[id] = e
		default:
			unseen = append(unseen, e)
		}
	}
	return seen, slices.DeleteFunc(unseen, func(e schema.Entry) bool { _, done := seen[target(e)]; return done })
}

// target is the entry that a correction takes back; empty for other entries.
func target(e schema.Entry) string {
	if e.Kind != (schema.CorrectData{}).EntryKind() {
		return ""
	}
	data, err := schema.Into[schema.CorrectData](e)
	if err != nil {
		return ""
	}
	return data.Entry
}

// Doubts are the entries that cannot be shown to be what their author wrote,
// having seen what they say, and why. An entry that says wrongly what it saw is
// one of them, and a correction that did not see what it takes back.
func (c *Car) Doubts() map[string]string {
	doubts := map[string]string{}
	for _, f := range c.Sight.Faults() {
		doubts[f.Entry] = f.Reason
	}
	_, unseen := toldBack(c.Record.Entries, c.Sight)
	for _, e := range unseen {
		doubts[e.ID] = "takes back an entry that it has not seen"
	}
	for id, why := range c.Record.Doubts {
		if _, there := c.Record.Entry(id); there {
			doubts[id] = why
		}
	}
	return doubts
}
