package cli

import (
	"strings"
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
	says(t, dir, "lead-1", runLimit, set, "limit L06: at most 0.05 bar in place of 0.07 bar in this shop from now on")
	says(t, dir, "tech-1", runLimit, limitOptions{}, "L06\t0.05 bar\tat most 0.05 bar in place of 0.07 bar\tcustomer cars only\n")
	if limits := listed(t, dir, "tech-1", runLimit, limitOptions{}); len(limits) != 1 {
		t.Errorf("%d limits, want 1", len(limits))
	}
	refuses(t, dir, "tech-1", runLimit, set, desk.Refused, "may not write a limit")
	refuses(t, dir, "lead-1", runLimit, limitOptions{words: []string{"L06", "little"}, why: "so"}, desk.Usage, "limit L06: ")
	for words, want := range map[string]string{
		"FOO|3 bar": "limit FOO: is not known", "L06|0.05": "limit L06: 0.05 has no unit", "L06|0.5 bar": "limit L06: 0.5 bar is looser than the program's at most 0.07 bar",
		"L06|0.05 V": "limit L06: ", "L01|1.25": "limit L01: 1.25 has no unit", "K26|1 bar": "limit K26: its limits are fixed", "L06": "limit L06: ",
	} {
		refuses(t, dir, "lead-1", runLimit, limitOptions{words: strings.Split(words, "|"), why: "so"}, desk.Usage, want)
	}
	refuses(t, dir, "lead-1", runLimit, limitOptions{words: []string{"L06", "0.05 bar"}}, desk.Usage, "--why: is missing")
}
