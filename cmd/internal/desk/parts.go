package desk

import (
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/places"
)

// Lot is a part record as it stands.
type Lot struct {
	ID         string          `json:"id"`
	Data       schema.PartData `json:"part"`
	Received   int             `json:"received"`
	Quarantine string          `json:"quarantine,omitempty"` // why it must stay off cars
}

// Part finds a lot by id, mark, name or the start of one.
func (d *Desk) Part(name string) (Lot, error) {
	all, err := d.Parts()
	if err != nil {
		return Lot{}, err
	}
	i, err := Pick("part", name, all, func(l Lot) []string { return []string{l.ID, l.Data.Name, l.Data.Mark, l.Data.Lot} })
	if err != nil {
		return Lot{}, err
	}
	return all[i], nil
}

// Parts lists the lots of the shop by id.
func (d *Desk) Parts() ([]Lot, error) {
	var all []Lot
	err := d.each(schema.PartRecord, func(r schema.Record) { all = append(all, readLot(r)) })
	return all, err
}

// each reads every record of a kind, by id.
func (d *Desk) each(kind schema.RecordKind, visit func(schema.Record)) error {
	view, err := d.View()
	if err != nil {
		return err
	}
	ids, err := view.IDs(kind)
	if err != nil {
		return err
	}
	for _, id := range ids {
		r, err := view.Record(kind, id)
		if err != nil {
			return err
		}
		visit(r)
	}
	return nil
}

func readLot(r schema.Record) Lot {
	l := Lot{ID: r.ID}
	if last, ok := state.LastSaid[schema.PartData](r); ok {
		l.Data = last.Data
	}
	for _, receipt := range state.SaidIn[schema.ReceiptData](r) {
		l.Received += receipt.Data.Quantity
	}
	if q, held := state.Quarantined(r); held {
		l.Quarantine = q.Why
	}
	return l
}

// Remove records a component that came out, at a moment: the part that the
// record has there.
func (d *Desk) Remove(c Car, at time.Time, r schema.RemoveData) (Recorded, error) {
	a, err := d.Assess(c)
	if err != nil {
		return Recorded{}, err
	}
	if _, name, err := places.Find(r.Position); err == nil {
		r.Position = name
	}
	if fitted, ok := a.Car.Fitted[r.Position]; ok {
		r.Part = fitted.Data.Part
	}
	return d.Record(c, at, r)
}
