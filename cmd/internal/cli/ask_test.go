package cli

import (
	"context"
	"encoding/json"
	"errors"
	"strings"
	"testing"

	"feedproof/checklist/audit"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/cmd/internal/terminal"
)

func TestAskOptions(t *testing.T) {
	fills(t, newAskCommand,
		line[askOptions]{args: "lot|2231-B", want: askOptions{words: []string{"lot", "2231-B"}}},
		line[askOptions]{args: "waivers|--csv", want: askOptions{words: []string{"waivers"}, csv: true}},
		line[askOptions]{args: "waivers|--cvs", fault: "unknown flag"},
	)
}

func TestRunAsk(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "tech-1", runAsk, askOptions{words: []string{"find", "KT 42"}}, "kestrel", "vehicle/")
	says(t, dir, "tech-1", runAsk, askOptions{words: []string{"find", "KT 42"}, csv: true}, "record_kind,record,", "vehicle,")
	answers(t, dir, "tech-1", runAsk, askOptions{words: []string{"rechecks"}}, "question", "name", "args", "columns", "at", "rows", "notes")
	refuses(t, dir, "tech-1", runAsk, askOptions{words: []string{"luck"}}, desk.Usage, "question luck: is not one")
	refuses(t, dir, "tech-1", runAsk, askOptions{words: []string{"lot"}}, desk.Usage, "lot")
	_, err := shown(t, dir, "tech-1", runAsk, askOptions{words: []string{"rechecks"}, csv: true}, terminal.Options{JSON: true})
	if err == nil || !strings.Contains(err.Error(), "--csv and --json: only one of them can be given") {
		t.Errorf("--csv --json: %v", err)
	}
}

// The questions are listed without a shop.
func TestRunQuestions(t *testing.T) {
	run := shopless(t.TempDir(), runQuestions)
	dir := desktest.Shop(t)
	says(t, dir, "tech-1", run, askOptions{}, "Q01\t", "rechecks")
	refuses(t, dir, "tech-1", run, askOptions{csv: true}, desk.Usage, "--csv: of which question")
	text, err := shown(t, dir, "tech-1", run, askOptions{}, terminal.Options{JSON: true})
	var questions []questionJSON
	if err := errors.Join(err, json.Unmarshal([]byte(text), &questions)); err != nil || len(questions) != len(audit.All()) {
		t.Errorf("%v\n%s", err, text)
	}
	a := &app{World: World{Dir: t.TempDir(), Getenv: func(string) string { return "" }}}
	var out strings.Builder
	a.Screen = terminal.New(&out, &out, terminal.Options{})
	if err := asking(a)(context.Background(), askOptions{}); err != nil || !strings.Contains(out.String(), "Q01") {
		t.Errorf("%v: %s", err, out.String())
	}
	if err := asking(a)(context.Background(), askOptions{words: []string{"rechecks"}}); err == nil || !strings.Contains(err.Error(), "is not in a shop") {
		t.Errorf("a question outside a shop: %v", err)
	}
}
