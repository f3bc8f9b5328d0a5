package state

import (
	"slices"

	"feedproof/schema"
)

// Quarantine is a lot that is kept off cars: since when and why, and the owners
// who were told, by car.
type Quarantine struct {
	Entry schema.Entry
	Why   string
	Told  map[string]schema.Entry
}

// Quarantined is the quarantine of a part record that stands. A release lifts
// only a hold that it had seen.
func Quarantined(r schema.Record) (Quarantine, bool) {
	all, sight := SaidIn[schema.QuarantineData](r), schema.NewSight(r.Entries)
	var q Quarantine
	for _, s := range all {
		lifted := slices.ContainsFunc(all, func(o Said[schema.QuarantineData]) bool {
			return o.Data.Action == schema.ReleaseLot && sight.Saw(o.Entry.ID, s.Entry.ID)
		})
		if s.Data.Action == schema.HoldLot && !lifted {
			q = Quarantine{s.Entry, s.Data.Why, map[string]schema.Entry{}}
		}
	}
	for _, s := range all {
		if s.Data.Action == schema.ToldOwner && q.Told != nil && schema.Order(s.Entry, q.Entry) > 0 {
			q.Told[s.Data.Car] = s.Entry
		}
	}
	return q, q.Told != nil
}
