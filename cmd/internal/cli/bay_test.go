package cli

import (
	"testing"

	"feedproof/schema"
)

func TestProgramOfABay(t *testing.T) {
	ours := schema.Knowledge()
	for want, knows := range map[string][]string{
		"": nil, "bay-2: as here": ours, "bay-2: behind, lacks 2 things that this one writes": ours[2:],
		"bay-2: ahead of this machine, update it":         append([]string{"vehicle hologram"}, ours...),
		"bay-2: another than here, lacks 1, knows 1 more": append([]string{"vehicle hologram"}, ours[1:]...),
	} {
		if got := programOf(schema.BayData{Device: "bay-2", Knows: knows}); got != want {
			t.Errorf("says %q, want %q", got, want)
		}
	}
}
