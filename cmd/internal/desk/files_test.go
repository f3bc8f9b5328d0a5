package desk_test

import (
	"testing"

	"feedproof/cmd/internal/desktest"
	"feedproof/records"
	"feedproof/schema"

	"github.com/google/go-cmp/cmp"
)

// The shop's records go out with its own first; a car's with the parts and the
// gauges that it names, each once.
func TestFiles(t *testing.T) {
	d := desktest.At(t, desktest.Shop(t), "lead-1")
	all, err := d.Files()
	if err != nil {
		t.Fatal(err)
	}
	c, err := d.Car("kestrel")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]schema.RecordKind{schema.ShopRecord, schema.GaugeRecord, schema.PartRecord, schema.VehicleRecord}, kindsOf(all)); diff != "" {
		t.Error(diff)
	}
	for range 2 {
		done, err := d.Record(c, desktest.Now, schema.FitData{Position: "pump", Part: "PUMP-A"})
		if err != nil {
			t.Fatal(err)
		}
		c.Record = c.Record.With(done.Entry) // as if it had been committed
	}
	own, err := d.FilesOf(c)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]schema.RecordKind{schema.VehicleRecord, schema.PartRecord}, kindsOf(own)); diff != "" {
		t.Error(diff)
	}
}

func kindsOf(files []records.File) []schema.RecordKind {
	var out []schema.RecordKind
	for _, f := range files {
		out = append(out, f.Kind)
	}
	return out
}
