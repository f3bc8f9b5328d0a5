package state

import (
	"slices"

	"feedproof/schema"
)

// Said is an entry of one kind that stands, with what it says.
type Said[T schema.Data] struct {
	Entry schema.Entry
	Data  T
}

// SaidIn are the entries of one kind in a record, in order, that nobody took
// back.
func SaidIn[T schema.Data](r schema.Record) []Said[T] {
	var out []Said[T]
	for _, e := range Standing(r) {
		with(e, func(d T) { out = append(out, Said[T]{e, d}) })
	}
	return out
}

// LastSaid is the last entry of one kind in a record that nobody took back.
func LastSaid[T schema.Data](r schema.Record) (Said[T], bool) {
	all := SaidIn[T](r)
	if len(all) == 0 {
		return Said[T]{}, false
	}
	return all[len(all)-1], true
}

// LatestOf is the last of each name, in the order in which they were written.
func LatestOf[T schema.Data](r schema.Record, name func(T) string) []T {
	var out []T
	for _, s := range SaidIn[T](r) {
		out = append(slices.DeleteFunc(out, func(o T) bool { return name(o) == name(s.Data) }), s.Data)
	}
	return out
}

// Identity is what a record last said the car is.
func Identity(r schema.Record) schema.VehicleData {
	last, _ := LastSaid[schema.VehicleData](r)
	return last.Data
}

// Written are the entries of a record in their order, whatever became of them:
// for telling, counting and proving, never for judging.
func Written(r schema.Record) []schema.Entry { return r.With().Entries }

// Written are the entries of the car's record in their order, whatever became
// of them: for telling, never for judging.
func (c *Car) Written() []schema.Entry { return c.Record.Entries }

// Only is a record of the entries that are wanted.
func Only(r schema.Record, wanted func(schema.Entry) bool) schema.Record {
	r.Entries = slices.DeleteFunc(Written(r), func(e schema.Entry) bool { return !wanted(e) })
	return r
}

// SeenBy is the record as the writer of an entry saw it.
func SeenBy(r schema.Record, e schema.Entry) schema.Record {
	r.Entries = schema.NewSight(r.Entries).Seen(e.ID)
	return r
}
