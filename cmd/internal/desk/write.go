package desk

import (
	"context"
	"time"

	"feedproof/checklist"
	"feedproof/schema"
)

// Recorded is a fact that was written down, and what it changed.
type Recorded struct {
	Car     Car // with the fact
	Entry   schema.Entry
	Changed []schema.Finding
	After   checklist.Assessment // by itself; see [Desk.AssessAlone]
}

// Record writes a fact about a car into its draft, as it was at a moment. It is
// durable on return; a dangerous one is written like any other.
func (d *Desk) Record(c Car, at time.Time, data schema.Data) (Recorded, error) {
	me, err := d.Who()
	if err != nil {
		return Recorded{}, err
	}
	e, err := d.draw(c.ID, me.Person, at, data)
	if err != nil {
		return Recorded{}, err
	}
	d.doubtClock(c)
	before, err := d.AssessAlone(c)
	if err != nil {
		return Recorded{}, err
	}
	if err := d.shop.Append(c.ID, e); err != nil {
		return Recorded{}, err
	}
	c.Draft = append(c.Draft, e)
	after, err := d.AssessAlone(c)
	return Recorded{c, e, checklist.Changed(before.Findings, after.Findings), after}, err
}

// draw makes the next entry of a car by somebody who may.
func (d *Desk) draw(car, by string, at time.Time, data schema.Data) (schema.Entry, error) {
	if err := d.May(by, data.EntryKind()); err != nil {
		return schema.Entry{}, err
	}
	return d.entry(schema.VehicleRecord, car, by, at, data)
}

// Put writes entries of a shop, gauge or part record, or of a new car, at once.
func (d *Desk) Put(ctx context.Context, kind schema.RecordKind, id string, at time.Time, data ...schema.Data) ([]schema.Entry, error) {
	me, err := d.Who()
	if err != nil {
		return nil, err
	}
	entries, err := d.entries(kind, id, me.Person, at, data)
	if err != nil {
		return nil, err
	}
	key, err := d.Key(me.Person)
	if err != nil {
		return nil, err
	}
	defer d.forget()
	_, err = d.shop.Put(ctx, kind, id, me.Person, key, entries...)
	return entries, err
}

// entries numbers new entries of a record, each by somebody who may.
func (d *Desk) entries(kind schema.RecordKind, id, by string, at time.Time, data []schema.Data) ([]schema.Entry, error) {
	counter, err := d.nextCounter(kind, id)
	if err != nil {
		return nil, err
	}
	var entries []schema.Entry
	for i, one := range data {
		if err := d.May(by, one.EntryKind()); err != nil {
			return nil, err
		}
		e, err := d.numbered(counter+int64(i), kind, id, by, at, one)
		if err != nil {
			return nil, err
		}
		entries = append(entries, e)
	}
	return entries, nil
}

// entry makes the next entry of a record and checks it against the schema.
func (d *Desk) entry(kind schema.RecordKind, id, by string, at time.Time, data schema.Data) (schema.Entry, error) {
	counter, err := d.nextCounter(kind, id)
	if err != nil {
		return schema.Entry{}, err
	}
	return d.numbered(counter, kind, id, by, at, data)
}

// nextCounter is the number after all that were seen of a record, with its
// draft as it is on the disk now: another window may have written there.
func (d *Desk) nextCounter(kind schema.RecordKind, id string) (int64, error) {
	view, err := d.View()
	if err != nil {
		return 0, err
	}
	highest, err := view.HighestCounter(kind, id)
	if err != nil || kind != schema.VehicleRecord {
		return highest + 1, err
	}
	draft, err := d.shop.Draft(id)
	return max(highest, schema.Record{Entries: draft}.MaxCounter()) + 1, err
}

func (d *Desk) numbered(counter int64, kind schema.RecordKind, id, by string, at time.Time, data schema.Data) (schema.Entry, error) {
	e, err := schema.NewEntry(schema.Origin{By: by, Device: d.Device().Name, Counter: counter, At: at, Entered: d.Now()}, data)
	if err != nil {
		return e, err
	}
	return e, schema.ValidateEntry(kind, id, e)
}

// suspectClock is how far a clock may lag behind the record without a word.
const suspectClock = time.Hour

// doubtClock says when this machine's clock is behind the record. Nothing is
// refused: order is kept by counters.
func (d *Desk) doubtClock(c Car) {
	if d.behind(c) {
		d.warn("clock suspect: this machine says %s, the record's latest entry was typed %s. The fact is kept in its order; set the clock before the next reading.",
			d.Now().UTC().Format(time.RFC3339), latestTyped(c).UTC().Format(time.RFC3339))
	}
}

// behind reports that this machine's clock is behind the record.
func (d *Desk) behind(c Car) bool { return latestTyped(c).Sub(d.Now()) > suspectClock }

// latestTyped is when the last entry of a car was typed, by the clock of its
// machine.
func latestTyped(c Car) time.Time {
	var latest time.Time
	for _, e := range c.Whole().Entries {
		if e.Entered.After(latest) {
			latest = e.Entered
		}
	}
	return latest
}
