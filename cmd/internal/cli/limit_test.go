package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
)

func TestLimitOptions(t *testing.T) {
	fills(t, newLimitCommand,
		line[limitOptions]{args: "L06|0.05 bar|--why|customer cars only", want: limitOptions{words: []string{"L06", "0.05 bar"}, why: "customer cars only"}},
		line[limitOptions]{args: "L06|0.05|bar", want: limitOptions{words: []string{"L06", "0.05", "bar"}}},
		line[limitOptions]{args: "L06|--because|so", fault: "unknown flag: --because"},
	)
}

func TestRunLimit(t *testing.T) {
	dir := desktest.Shop(t)
	set := limitOptions{words: []string{"l06", "0.05", "bar"}, why: "customer cars only"}
	says(t, dir, "lead-1", runLimit, set, "limit L06: 0.05 bar in this shop from now on")
	says(t, dir, "tech-1", runLimit, limitOptions{}, "L06\t0.05 bar\tcustomer cars only\n")
	if limits := listed(t, dir, "tech-1", runLimit, limitOptions{}); len(limits) != 1 {
		t.Errorf("%d limits, want 1", len(limits))
	}
	refuses(t, dir, "tech-1", runLimit, set, desk.Refused, "may not write a limit")
	refuses(t, dir, "lead-1", runLimit, limitOptions{words: []string{"L06", "little"}, why: "so"}, desk.Usage, "limit L06: ")
	refuses(t, dir, "lead-1", runLimit, limitOptions{words: []string{"L06", "0.05 bar"}}, desk.Usage, "--why: is missing")
}
