package desk

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"feedproof/checklist"
	"feedproof/checklist/state"
	"feedproof/records"
	"feedproof/schema"
)

// Recorded is a fact that was written down, and what it changed.
type Recorded struct {
	Car     Car // with the fact
	Entry   schema.Entry
	Changed []schema.Finding
	Second  string               // who was named as the second person
	Seen    *schema.Entry        // what the second person confirmed at once; nil where it waits for them
	After   checklist.Assessment // by itself; see [Desk.AssessAlone]
}

// Record writes a fact about a car into its draft, as it was at a moment, signed
// by who is at work. It is durable on return; a dangerous one is written like any
// other.
func (d *Desk) Record(c Car, at time.Time, data schema.Data) (Recorded, error) {
	me, err := d.Who()
	if err != nil {
		return Recorded{}, err
	}
	before, err := d.AssessAlone(c)
	if err != nil {
		return Recorded{}, err
	}
	if data, err = d.placed(c, data); err != nil {
		return Recorded{}, err
	}
	e, err := d.draw(c.ID, me.Person, at, data)
	if err != nil {
		return Recorded{}, err
	}
	d.doubtClock(c)
	c.Draft = append(c.Draft, e)
	second := seconded(data)
	seen, err := d.confirmAtOnce(c.ID, e, second)
	if err != nil {
		return Recorded{}, err
	}
	if seen != nil {
		c.Draft = append(c.Draft, *seen)
	}
	after, err := d.AssessAlone(c)
	return Recorded{c, e, checklist.Changed(before.Findings, after.Findings), second, seen, after}, err
}

// seconded is the second person whom a closing or a step names.
func seconded(data schema.Data) string {
	switch d := data.(type) {
	case schema.HoldPointData:
		return d.Second
	case schema.StepData:
		if d.State == schema.StepDone {
			return d.Second
		}
	}
	return ""
}

// confirmAtOnce lets a second person who stands by confirm an entry with their
// own secret, when their key is on this machine. Whose is not, or who does not
// give it, confirms later: nobody does it for them.
func (d *Desk) confirmAtOnce(car string, e schema.Entry, second string) (*schema.Entry, error) {
	if second == "" || second == e.By {
		return nil, nil
	}
	if _, err := d.Key(second); err != nil {
		d.warn("%s has not confirmed it: %v", second, err)
		return nil, nil
	}
	seen, err := d.draw(car, second, d.Now(), schema.ConfirmData{Entry: e.ID})
	return &seen, err
}

// Confirm writes, by who is at work, that they saw with their own eyes what
// another person's entry says; without one, the only one that waits for them.
func (d *Desk) Confirm(c Car, entry, saw string) (Recorded, error) {
	me, err := d.Who()
	if err != nil {
		return Recorded{}, err
	}
	e, err := d.toConfirm(c, me.Person, entry)
	if err != nil {
		return Recorded{}, err
	}
	if e.By == me.Person {
		return Recorded{}, &Error{Kind: Refused, Thing: fmt.Sprintf("#%d", e.Counter), Wrong: "is your own: another person confirms it", Mend: "feedproof confirm " + Quoted(c.Data.Name) + " --as PERSON"}
	}
	return d.Record(c, d.Now(), schema.ConfirmData{Entry: e.ID, Saw: saw})
}

func (d *Desk) toConfirm(c Car, person, entry string) (schema.Entry, error) {
	if entry != "" {
		return c.Entry(entry)
	}
	a, err := d.Assess(c)
	if err != nil {
		return schema.Entry{}, err
	}
	waiting := checklist.Confirmations(a, person)
	switch len(waiting) {
	case 0:
		return schema.Entry{}, failed("feedproof holdpoint list "+Quoted(c.Data.Name), c.Data.Name, "nothing waits for %s to confirm it", person)
	case 1:
		return c.Entry(waiting[0].ID)
	}
	var each []string
	for _, t := range waiting {
		e, err := c.Entry(t.ID)
		if err != nil {
			return e, err
		}
		each = append(each, fmt.Sprintf("#%d (%s)", e.Counter, Joined(" ", t.Point, t.Step)))
	}
	return schema.Entry{}, usage("feedproof confirm "+Quoted(c.Data.Name)+" ENTRY", c.Data.Name, "several wait for %s: %s", person, strings.Join(each, ", "))
}

// draw puts the next entry of a car into its draft, by somebody who may; again
// when another window of this machine was quicker, for nothing was shown in
// between.
func (d *Desk) draw(car, by string, at time.Time, data schema.Data) (schema.Entry, error) {
	for {
		entries, err := d.entries(schema.VehicleRecord, car, by, at, data)
		if err != nil {
			return schema.Entry{}, err
		}
		err = d.shop.Append(car, entries[0])
		if unseen := (*records.UnseenError)(nil); !errors.As(err, &unseen) {
			return entries[0], err
		}
		d.forget()
	}
}

// Put writes entries of a shop, gauge or part record, or of a new car, at once.
// Those of a car with a draft, which they have seen, go into it.
func (d *Desk) Put(ctx context.Context, kind schema.RecordKind, id string, at time.Time, data ...schema.Data) ([]schema.Entry, error) {
	me, err := d.Who()
	if err != nil {
		return nil, err
	}
	entries, err := d.entries(kind, id, me.Person, at, data...)
	if err != nil {
		return nil, err
	}
	defer d.forget()
	if kind == schema.VehicleRecord {
		if draft, err := d.shop.Draft(id); err != nil || len(draft) > 0 {
			for _, e := range entries {
				err = errors.Join(err, d.shop.Append(id, e))
			}
			return entries, err
		}
	}
	key, err := d.Key(me.Person)
	if err != nil {
		return nil, err
	}
	_, err = d.shop.Put(ctx, kind, id, me.Person, key, entries...)
	return entries, err
}

// entries are the next entries of a record, by somebody who may, who has what
// the desk sees in view; signed with the author's key.
func (d *Desk) entries(kind schema.RecordKind, id, by string, at time.Time, data ...schema.Data) ([]schema.Entry, error) {
	if d.Device().Copy {
		return nil, &records.CopyError{Dir: d.shop.Dir()}
	}
	for _, one := range data {
		if err := d.May(by, one.EntryKind()); err != nil {
			return nil, err
		}
	}
	key, err := d.Key(by)
	if err != nil {
		return nil, err
	}
	view, err := d.View()
	if err != nil {
		return nil, err
	}
	seen, err := view.Show(kind, id)
	if err != nil {
		return nil, err
	}
	var written []records.Fact
	for _, one := range data {
		written = append(written, records.Fact{By: by, Key: key, At: at, Entered: d.Now(), Data: one})
	}
	return d.shop.Write(seen, written...)
}

// entry is the next entry of a record alone.
func (d *Desk) entry(kind schema.RecordKind, id, by string, at time.Time, data schema.Data) (schema.Entry, error) {
	entries, err := d.entries(kind, id, by, at, data)
	if err != nil {
		return schema.Entry{}, err
	}
	return entries[0], nil
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
	for _, e := range state.Written(c.Whole()) {
		if e.Entered.After(latest) {
			latest = e.Entered
		}
	}
	return latest
}
