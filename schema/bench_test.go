package schema_test

import (
	"bytes"
	"fmt"
	"testing"

	"feedproof/schema"
)

// BenchmarkDecodeRecord reads the frozen vehicle with its entries repeated
// under other ids, about 400 of them, as a car has after years.
func BenchmarkDecodeRecord(b *testing.B) {
	r, err := schema.DecodeRecord(frozen(b, schema.VehicleRecord))
	if err != nil {
		b.Fatal(err)
	}
	text := grown(b, r, 400)
	for name, read := range map[string]func([]byte) (schema.Record, error){"strict": schema.DecodeRecord, "committed": schema.ReadCommitted} {
		b.Run(name, func(b *testing.B) {
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := read(text); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func grown(b *testing.B, r schema.Record, entries int) []byte {
	var all []schema.Entry
	for round := 0; len(all) < entries; round++ {
		for _, e := range r.Entries {
			line := bytes.Replace(e.Raw(), []byte(e.ID), fmt.Appendf(nil, "%s%03d", e.ID[:len(e.ID)-3], round), 1)
			more, err := schema.DecodeEntry(line)
			if err != nil {
				b.Fatal(err)
			}
			all = append(all, more)
		}
	}
	return schema.NewRecord(r.Kind, r.ID).With(all...).Encode()
}

func BenchmarkDecodeEntry(b *testing.B) {
	r, err := schema.DecodeRecord(frozen(b, schema.VehicleRecord))
	if err != nil {
		b.Fatal(err)
	}
	longest := 0
	for i, e := range r.Entries {
		if len(e.Raw()) > len(r.Entries[longest].Raw()) {
			longest = i
		}
	}
	line := r.Entries[longest].Raw()
	b.SetBytes(int64(len(line)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := schema.DecodeEntry(line); err != nil {
			b.Fatal(err)
		}
	}
}
