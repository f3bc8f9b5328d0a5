package cli

import (
	"context"
	"errors"
	"iter"
	"time"

	"feedproof/checklist"
	"feedproof/checklist/past"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"
)

// put writes entries of a shop, gauge or part record, or a new car, at once,
// and says what it wrote.
func put(ctx context.Context, d *desk.Desk, out *terminal.Screen, kind schema.RecordKind, id string, at time.Time, said string, data ...schema.Data) error {
	entries, err := d.Put(ctx, kind, id, at, data...)
	if err != nil {
		return err
	}
	return showPut(out, kind, id, entries, said)
}

// showPut says what was written at once.
func showPut(out *terminal.Screen, kind schema.RecordKind, id string, entries []schema.Entry, said string) error {
	if out.AsJSON() {
		return out.JSON(putJSON{kind, id, factsOf(entries)})
	}
	out.Say("%s", said)
	return nil
}

// putOwn writes entries of the shop's own record at once; see [put].
func putOwn(ctx context.Context, d *desk.Desk, out *terminal.Screen, said string, data ...schema.Data) error {
	own, err := d.Own()
	if err != nil {
		return err
	}
	return put(ctx, d, out, schema.ShopRecord, own.ID, d.Now(), said, data...)
}

// putJSON is what was written at once, as --json prints it.
type putJSON struct {
	Record schema.RecordKind `json:"record"`
	ID     string            `json:"id"`
	Facts  []factJSON        `json:"facts"`
}

func factsOf(entries []schema.Entry) []factJSON {
	out := []factJSON{}
	for _, e := range entries {
		out = append(out, newFact(past.Strand{Entry: e}, facts.Fact(e), true))
	}
	return out
}

// record writes a fact about a car down, durable when it returns, and then
// shows what it changes.
func record(d *desk.Desk, out *terminal.Screen, c desk.Car, at time.Time, data schema.Data) error {
	done, err := d.Record(c, at, data)
	if err != nil {
		return err
	}
	return showRecorded(out, done)
}

// recordedJSON is what a recorded fact answers with --json.
type recordedJSON struct {
	Vehicle  string           `json:"vehicle"`
	Entry    string           `json:"entry"`
	Counter  int64            `json:"counter"`
	Kind     string           `json:"kind"`
	Fact     string           `json:"fact"`
	Findings []schema.Finding `json:"findings"`            // that it changed
	Second   string           `json:"second,omitempty"`    // who was named as the second person
	Seen     string           `json:"confirmed,omitempty"` // the entry by which they confirmed it; none while it waits for them
	Band     checklist.Band   `json:"band"`
	Next     string           `json:"next"`
}

func newRecorded(done desk.Recorded) recordedJSON {
	name, e := done.Car.Data.Name, done.Entry
	band, _ := done.After.Standing.Band()
	return recordedJSON{name, e.ID, e.Counter, e.Kind, facts.In(done.Car.Whole(), e), list(desk.Named(done.Changed, name)), done.Second, idOf(done.Seen), band, desk.ForCar(done.After.Next, name)}
}

func idOf(e *schema.Entry) string {
	if e == nil {
		return ""
	}
	return e.ID
}

func showRecorded(out *terminal.Screen, done desk.Recorded) error {
	if out.AsJSON() {
		return out.JSON(newRecorded(done))
	}
	sayRecorded(out, done)
	return nil
}

// showEach shows facts that are written one after another, each as soon as it
// stands; as JSON they are one list, whatever came of the next.
func showEach(out *terminal.Screen, written iter.Seq2[desk.Recorded, error]) (failure error) {
	list := []recordedJSON{}
	for done, err := range written {
		if err != nil {
			failure = err
			break
		}
		sayRecorded(out, done)
		list = append(list, newRecorded(done))
	}
	if out.AsJSON() && (failure == nil || len(list) > 0) {
		if err := out.JSON(list); err != nil {
			return errors.Join(failure, err)
		}
	}
	return failure
}

func sayRecorded(out *terminal.Screen, done desk.Recorded) {
	name, e, found := done.Car.Data.Name, done.Entry, desk.Named(done.Changed, done.Car.Data.Name)
	out.Say("%s #%d by %s: %s", name, e.Counter, e.By, facts.In(done.Car.Whole(), e))
	switch {
	case done.Seen != nil:
		out.Say("%s #%d by %s: %s", name, done.Seen.Counter, done.Seen.By, facts.In(done.Car.Whole(), *done.Seen))
	case done.Second != "" && done.Second != e.By:
		out.Say("it waits for %s: feedproof confirm %s --as %s", done.Second, desk.Quoted(name), done.Second)
	}
	said, waiting := checklist.Parted(found)
	out.Findings(said)
	if len(waiting) > 0 {
		out.Say("%s waiting for a record: feedproof check %s", desk.Plural(len(waiting), "more thing"), desk.Quoted(name))
	}
}
