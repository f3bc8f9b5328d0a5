package desk

import (
	"context"

	"feedproof/schema"
)

// AddCar writes a new car at once. One that is called like another, with the
// same plate and VIN, is taken for the same.
func (d *Desk) AddCar(ctx context.Context, car schema.VehicleData) (id string, entries []schema.Entry, err error) {
	all, err := d.Names()
	if err != nil {
		return "", nil, err
	}
	for _, n := range all {
		if Fold(n.Name) == Fold(car.Name) && Fold(n.Plate) == Fold(car.Plate) && Fold(n.VIN) == Fold(car.VIN) {
			return "", nil, failed("another name, or the plate or VIN that tells them apart", "car "+car.Name, "is in the shop already")
		}
	}
	id = schema.NewID(d.Now())
	entries, err = d.Put(ctx, schema.VehicleRecord, id, d.Now(), car)
	return id, entries, err
}
