package desk

import (
	"feedproof/checklist/state"
	"feedproof/schema"
)

// Bays are the bays of the shop, each as it was last described.
func (d *Desk) Bays() ([]schema.BayData, error) {
	return latest(d, func(b schema.BayData) string { return b.Bay })
}

// Limits are the limits that this shop tightened, each as it was last said.
func (d *Desk) Limits() ([]schema.LimitData, error) {
	return latest(d, func(l schema.LimitData) string { return l.Limit })
}

// latest is the last entry of a kind for each name, in the shop's own record,
// in the order in which they were written.
func latest[T schema.Data](d *Desk, name func(T) string) ([]T, error) {
	own, err := d.Own()
	if err != nil {
		return nil, err
	}
	return state.LatestOf(own, name), nil
}
