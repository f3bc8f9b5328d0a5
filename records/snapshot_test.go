package records

import (
	"testing"

	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/storer"
)

// asking counts the objects that are asked for.
type asking struct {
	storer.EncodedObjectStorer
	asked *int
}

func (c asking) EncodedObject(kind plumbing.ObjectType, hash plumbing.Hash) (plumbing.EncodedObject, error) {
	*c.asked++
	return c.EncodedObjectStorer.EncodedObject(kind, hash)
}

// A judgement asks for the same gauge and part with every reading: the store is asked once.
func TestFactsAreReadOnce(t *testing.T) {
	w := newShop(t)
	must(t, w.put("lead-1", schema.GaugeRecord, "one", schema.NoteData{Text: "a gauge"}))
	must(t, w.put("lead-1", schema.PartRecord, "one", schema.NoteData{Text: "a part"}))
	snap, _, err := w.shop.snapshot()
	must(t, err)
	asked := 0
	snap.store = asking{snap.store, &asked}
	facts, err := snap.facts(snap.record)
	must(t, err)
	for _, look := range []func(string) bool{
		func(id string) bool { _, there := facts.Gauge(id); return there },
		func(id string) bool { _, there := facts.Part(id); return there },
	} {
		asked = 0
		first := look("one")
		once := asked
		if again := look("one"); once == 0 || asked != once || !first || !again {
			t.Errorf("asked %d times, then %d; found %v, then %v", once, asked-once, first, again)
		}
	}
}
