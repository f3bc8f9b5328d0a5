package cli

import (
	"errors"
	"strings"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/cmd/internal/terminal"
)

func TestCheckOptions(t *testing.T) {
	fills(t, newCheckCommand,
		line[checkOptions]{args: "kestrel", want: checkOptions{car: "kestrel"}},
		line[checkOptions]{args: "KT 42|--all", want: checkOptions{car: "KT 42", all: true}},
		line[checkOptions]{args: "kestrel|osprey", fault: "one word too many"},
	)
}

func TestRunCheck(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "tech-1", runCheck, checkOptions{car: "kestrel"}, "kestrel (KT 42, ...004711), bay 2 · FUEL CLOSED · next HP0 · 0 red, ", "UNPROVEN\tL01", "HP0\topen", "Next: HP0")
	says(t, dir, "tech-1", runRead, readOptions{car: "kestrel", test: "leak-down", words: []string{"start=3.00bar", "end=2.99bar", "time=5min"}}, "kestrel #3")
	brief, err := shown(t, dir, "tech-1", runCheck, checkOptions{car: "kestrel"}, terminal.Options{})
	whole, errAll := shown(t, dir, "tech-1", runCheck, checkOptions{car: "kestrel", all: true}, terminal.Options{})
	if err := errors.Join(err, errAll); err != nil || !strings.Contains(brief, "in order: feedproof check kestrel --all") || strings.Contains(brief, "OK\t") || !strings.Contains(whole, "OK\t") {
		t.Errorf("%v: want what is in order counted, and listed with --all:\n%s\n%s", err, brief, whole)
	}
	answers(t, dir, "tech-1", runCheck, checkOptions{car: "kestrel"}, "vehicle", "fuel", "held", "rule_set", "findings", "points", "looks_like")
	refuses(t, dir, "tech-1", runCheck, checkOptions{car: "osprey"}, desk.Usage, "car osprey: is not in this shop")
}
