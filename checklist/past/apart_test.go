package past

import (
	"fmt"
	"strings"
	"testing"

	"feedproof/schema"
)

// TestStrands: two bays that wrote side by side, and then one that knew of both.
// Source: from memory (a drawing of who knew of whom, by hand).
func TestStrands(t *testing.T) {
	entry := func(id, device string, counter int64, after ...string) schema.Entry {
		return schema.Entry{ID: id, Device: device, Counter: counter, After: after, Kind: "note", By: "tech-1"}
	}
	r := schema.NewRecord(schema.VehicleRecord, "car").With(
		entry("a", "bay-1", 1),
		entry("b", "bay-1", 2, "a"), entry("c", "bay-2", 2, "a"), entry("d", "bay-2", 3, "c"),
		entry("e", "bay-2", 4, "b", "d"),
		entry("f", "bay-2", 5, "e"), entry("g", "bay-1", 5, "e"),
	)
	var got []string
	for _, s := range Strands(r) {
		unknown := ""
		for _, e := range s.Unknown {
			unknown += e.ID
		}
		got = append(got, fmt.Sprint(s.Entry.ID, s.Devices, s.Line, unknown))
	}
	want := "a[] 0 b[bay-1 bay-2] 0cd c[bay-1 bay-2] 1b d[bay-1 bay-2] 1b e[] 0 f[bay-1 bay-2] 1g g[bay-1 bay-2] 0f"
	if strings.Join(got, " ") != want {
		t.Errorf("%s, want %s", strings.Join(got, " "), want)
	}
}
