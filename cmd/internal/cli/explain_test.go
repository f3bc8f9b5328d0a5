package cli

import (
	"encoding/json"
	"errors"
	"testing"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/cmd/internal/terminal"
)

func TestExplainOptions(t *testing.T) {
	fills(t, newExplainCommand,
		line[explainOptions]{args: "L06", want: explainOptions{id: "L06"}},
		line[explainOptions]{args: "hot|restart", want: explainOptions{id: "hot restart"}},
		line[explainOptions]{args: "--lint", want: explainOptions{lint: true}},
		line[explainOptions]{args: "--lnit", fault: "unknown flag"},
	)
}

func TestRunExplain(t *testing.T) {
	dir := desktest.Shop(t)
	run := shopless(t.TempDir(), runExplain)
	for id, part := range map[string]string{"L06": "L06", "k01": "K01", "Q01": "Q01", "rechecks": "Q", "leak-down": "leak-down", "emergency": "fire"} {
		says(t, dir, "tech-1", run, explainOptions{id: id}, part)
		answers(t, dir, "tech-1", run, explainOptions{id: id}, "id", "title", "kind", "text")
	}
	says(t, dir, "tech-1", run, explainOptions{}, "card\temergency\t", "question\tQ01\t")
	says(t, dir, "tech-1", run, explainOptions{lint: true}, "checklists: every id exists")
	refuses(t, dir, "tech-1", run, explainOptions{id: "L999"}, desk.Usage, "page L999: is not known")
	text, err := shown(t, dir, "tech-1", run, explainOptions{}, terminal.Options{JSON: true})
	var all []checklist.Page
	if err := errors.Join(err, json.Unmarshal([]byte(text), &all)); err != nil || len(all) != len(pages()) {
		t.Errorf("%v: %d pages of %d", err, len(all), len(pages()))
	}
}
