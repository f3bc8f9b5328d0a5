package desk

import (
	"context"
	"fmt"
	"strings"
	"time"

	"feedproof/checklist/past"
	"feedproof/schema"
)

// OpenVisit records that a car came in, at a moment. A visit without a bay
// stands in that of this machine.
func (d *Desk) OpenVisit(c Car, at time.Time, v schema.VisitData) (Recorded, error) {
	a, err := d.Assess(c)
	if err != nil {
		return Recorded{}, err
	}
	if open := a.Car.Visit; open != nil && !open.Closed {
		return Recorded{}, failed("feedproof visit close "+Quoted(c.Data.Name), "visit "+open.Data.Visit+" of "+c.Data.Name, "is open already")
	}
	v.Action, v.Visit = schema.OpenVisit, fmt.Sprint(len(a.Car.Visits)+1)
	if v.Bay == "" {
		v.Bay = d.Device().Bay
	}
	return d.Record(c, at, v)
}

// CloseVisit records that a car leaves, at a moment. One that was not signed
// off needs a reason.
func (d *Desk) CloseVisit(c Car, at time.Time, v schema.VisitData) (Recorded, error) {
	a, err := d.Assess(c)
	if err != nil {
		return Recorded{}, err
	}
	name, open := c.Data.Name, a.Car.Visit
	if open == nil || open.Closed {
		return Recorded{}, failed("feedproof history "+Quoted(name), "visit", "none is open for %s", name)
	}
	v.Action, v.Visit = schema.CloseVisit, open.Data.Visit
	if len(a.Car.SignOffs) == 0 && strings.TrimSpace(v.Reason) == "" {
		return Recorded{}, usage("feedproof visit close "+Quoted(name)+` --reason "towed away unfinished"`, "visit "+v.Visit, "is not signed off; say how the car leaves")
	}
	return d.Record(c, at, v)
}

// keptYears is how long a record is kept after the shop's care for the car
// ended: shop policy. Laws on product liability and on personal data differ
// from place to place and come first.
const keptYears = 10

// KeptUntil is the date until which the record of a car is kept whose care ends
// today.
func (d *Desk) KeptUntil() string { return d.Now().AddDate(keptYears, 0, 0).Format(time.DateOnly) }

// EndCare writes at once that the shop cares for a car no longer, and until
// which date its record is kept.
func (d *Desk) EndCare(ctx context.Context, c Car, why, until string) ([]schema.Entry, error) {
	if c.InShop() {
		return nil, failed("feedproof visit close "+Quoted(c.Data.Name), c.Data.Name, "is in the shop")
	}
	return d.Put(ctx, schema.VehicleRecord, c.ID, d.Now(), past.CareNote(why, until))
}
