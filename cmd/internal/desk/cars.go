package desk

import (
	"cmp"
	"slices"

	"feedproof/checklist/audit"
	"feedproof/checklist/state"
	"feedproof/schema"
)

// Car is a car of the shop: its record and draft together.
type Car struct {
	ID     string
	Data   schema.VehicleData
	Record schema.Record // as committed
	Draft  []schema.Entry
}

// Whole is the record with the draft.
func (c Car) Whole() schema.Record { return c.Record.With(c.Draft...) }

// InShop reports that the last visit of the car is open.
func (c Car) InShop() bool {
	last, ok := state.LastSaid[schema.VisitData](c.Whole())
	return ok && last.Data.Action == schema.OpenVisit
}

// Car finds a car by name, plate, VIN or the start of one.
func (d *Desk) Car(name string) (Car, error) {
	all, err := d.Names()
	if err != nil {
		return Car{}, err
	}
	if len(all) == 0 {
		return Car{}, usage(`feedproof vehicle add NAME --what "colour and body"`, "car "+name, "there is no car in this shop yet")
	}
	i, err := Pick("car", name, all, func(n audit.Name) []string { return []string{n.Name, n.Plate, n.VIN, n.ID} })
	if err != nil {
		return Car{}, err
	}
	c, err := d.CarOf(all[i].ID)
	if err == nil {
		err = d.tellTorn(c)
	}
	return c, err
}

// Names lists what every car of the shop is called, by name.
func (d *Desk) Names() ([]audit.Name, error) {
	src, err := d.Source()
	if err != nil {
		return nil, err
	}
	all, err := audit.Names(src)
	slices.SortFunc(all, func(a, b audit.Name) int { return cmp.Compare(Fold(a.Name), Fold(b.Name)) })
	return all, err
}

// CarOf reads a car by its id, with its draft as it is on the disk now. A draft
// that is gone was committed since the look, so the shop is looked at again:
// else its entries would be in neither.
func (d *Desk) CarOf(id string) (Car, error) {
	seen, err := d.look()
	if err != nil {
		return Car{}, err
	}
	r, draft, err := seen.view.Vehicle(id)
	if err == nil && len(draft) == 0 && slices.Contains(seen.drafts, id) {
		if err := d.Refresh(); err != nil {
			return Car{}, err
		}
		r, draft, err = d.seen.view.Vehicle(id)
	}
	if err != nil {
		return Car{}, err
	}
	return Car{ID: r.ID, Data: state.Identity(r.With(draft...)), Record: r, Draft: draft}, nil
}

// Cars reads every car of the shop.
func (d *Desk) Cars() ([]Car, error) {
	return d.carsThat(func(audit.Name) bool { return true })
}

// Present reads the cars that are in the shop as committed, and those with a
// draft on this machine.
func (d *Desk) Present() ([]Car, error) {
	drafts, err := d.Drafts()
	if err != nil {
		return nil, err
	}
	return d.carsThat(func(n audit.Name) bool { return n.Here || slices.Contains(drafts, n.ID) })
}

// Drafts lists the cars with entries on this machine that are not committed.
func (d *Desk) Drafts() ([]string, error) { return d.shop.Drafts() }

// Draft is what of a car is on this machine alone.
func (d *Desk) Draft(car string) ([]schema.Entry, error) { return d.shop.Draft(car) }

// carsThat reads the cars that are wanted, by name.
func (d *Desk) carsThat(which func(audit.Name) bool) ([]Car, error) {
	all, err := d.Names()
	if err != nil {
		return nil, err
	}
	all = slices.DeleteFunc(all, func(n audit.Name) bool { return !which(n) })
	told := d.progress("reading car")
	var cars []Car
	for i, n := range all {
		c, err := d.CarOf(n.ID)
		if err != nil {
			return nil, err
		}
		cars = append(cars, c)
		told(i+1, len(all))
	}
	return cars, nil
}

// tellTorn says what a power cut left of a draft: it was never acknowledged.
func (d *Desk) tellTorn(c Car) error {
	torn, err := d.shop.Torn(c.ID)
	if err != nil || len(torn) == 0 {
		return err
	}
	d.warn("%s: the draft has %d broken line(s), as a power cut leaves them. They were never confirmed and do not count; %d entries are whole. Enter the fact again if it is missing.",
		c.Data.Name, len(torn), len(c.Draft))
	return nil
}
