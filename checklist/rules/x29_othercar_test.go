package rules

import (
	"testing"
	"time"

	"feedproof/schema"
)

// TestEvidenceOfAnotherCar: a file that stands in another car's record proves nothing; in a visit that is over it is no finding of this one.
// An entry of its own record is what the file shows.
func TestEvidenceOfAnotherCar(t *testing.T) {
	first := func() *story { return tell(t).add(0, visit(schema.OpenVisit, "1", 1)) }
	naming := func(id string) schema.EvidenceData {
		d := photo("a1")
		d.Entries = []string{id}
		return d
	}
	first().add(time.Hour, photo("a1")).wants(day, "X29", schema.OK)
	first().add(time.Hour, naming("01KJPVADB0NM6GR969KXCE1PNG")).wants(day, "X29", schema.Unproven)
	first().add(time.Hour, naming("01KJPVADB0NM6GR969KXCE1PNG")).add(day, visit(schema.OpenVisit, "2", 2)).wants(2*day, "X29", schema.OK)
	s := first()
	s.add(time.Hour, naming(s.record.Entries[0].ID)).wants(day, "X29", schema.OK)
}
