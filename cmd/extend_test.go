package cmd_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// edit is one place that an addition touches: a new file, or text behind an
// anchor of a file that is there.
type edit struct {
	path, anchor, text string
	forgot             string   // what stands there when it is forgotten
	says               []string // what tests then say; nothing where it is not tried to forget it
}

// additions are what DEVELOPERS.md tells how to add, each tried as it says.
var additions = map[string][]edit{
	"a reading": {{
		path: "schema/readings.go", anchor: "var Readings = []Reading{\n",
		text:   "\t{Name: \"filler cap\", Runs: RunsNothing, Title: \"vacuum that opens the cap\", Values: []ReadingValue{{Name: \"opens\", Accepts: gauge}}},\n",
		forgot: "\t{Name: \"filler cap\", Title: \"vacuum that opens the cap\", Values: []ReadingValue{{Name: \"opens\", Accepts: gauge}}},\n",
		says:   []string{"filler cap: schema/readings.go does not say what Runs for it"},
	}},
	"a unit": {
		{path: "schema/quantity/units.go", anchor: "aliases: []string{\"US gal\"}, factor: GallonUS, decimals: 2},\n",
			text: "\t\t{symbol: \"gal UK\", factor: 4.54609 * Litre, decimals: 2},\n", forgot: "\t\t{symbol: \"gal UK\", factor: 4.54609 * Litre, decimals: 2},\n",
			says: []string{"go generate ./schema writes"}},
		{path: "schema/quantity/units_test.go", anchor: "\t{dimVolume, \"mL\", \"ml\", 1e-06, 0},\n",
			text: "\t{dimVolume, \"gal UK\", \"brgallon\", 0.00454609, 4.54609e-3},\n", says: []string{"no outside value in the table"}}, // NIST SP 811 (2008), B.8
	},
	"an entry kind": {
		{path: "schema/data_vehicle.go", anchor: "func (ReadingData) EntryKind() string { return \"reading\" }\n",
			text: "\n// MarkData is a mark that was put on the car.\ntype MarkData struct {\n\tText string `json:\"text\"` // what it says\n}\n\n// EntryKind names the kind.\nfunc (MarkData) EntryKind() string { return \"mark\" }\n"},
		{path: "schema/kinds.go", anchor: "\t\tHoldData{}, SignOffData{}, IncidentData{}, ", text: "MarkData{}, "},
		{path: "records/signature/role.go", anchor: "\tseen   = kinds(", text: "schema.MarkData{}, "},
		{path: "records/signature/role_test.go", anchor: "reading      -          yes        yes             yes      yes   -      yes  -\n",
			text: "mark         yes        yes        yes             yes      yes   yes    yes  -\n", says: []string{"kind mark is not in the table"}},
		{path: "cmd/internal/facts/fact.go", anchor: "\tsaying(noteFact), ", text: "saying(markFact), ", says: []string{"mark entry 01KJQN4740GAPYNFGMRC9X5BXG: said as \"mark\""}},
		{path: "cmd/internal/facts/mark.go", text: "package facts\n\nimport \"feedproof/schema\"\n\nfunc markFact(d schema.MarkData) string { return \"mark: \" + d.Text }\n"},
		{path: "testdata/formats/v1/vehicle-mark.json", text: markExample, says: []string{"no frozen example testdata/formats/v1/vehicle*.json has a mark entry"}},
		{path: "testdata/formats/v1/SHA256SUMS", anchor: "\n", text: fmt.Sprintf("%x  vehicle-mark.json\n", sha256.Sum256([]byte(markExample)))},
	},
	"a rule": {
		{path: "checklist/rules/x90_named.go", text: "package rules\n" + namedRule + "\tNext: \"Give it a name.\",\n})\n", forgot: "package rules\n" + namedRule + "})\n", says: []string{"rule X90: its page has no next"}},
		{path: "testdata/scenarios/X90.json", text: namedScenario, says: []string{"rule X90: stands in testdata/scenarios: false"}},
	},
	"a question": {
		{path: "checklist/audit/q29_plates.go", text: platesQuestion},
		{path: "checklist/audit/q29_plates_test.go", text: platesTest, says: []string{"Q29: plates: no test of checklist/audit asks it and gets a row"}},
	},
	"a command": {
		{path: "cmd/internal/cli/marks.go", text: marksCommand("marks"), forgot: marksCommand("marks"), says: []string{"go generate ./cmd/dev/manual writes"}},
		{path: "cmd/internal/cli/cli.go", anchor: "{\"shop\", \"The shop:\", []*cobra.Command{", text: "a.marksCommand(), "},
		{path: "cmd/internal/cli/stamps.go", forgot: marksCommand("stamps"), says: []string{"stamps.go: stampsCommand: its command is not in the list of addCommands"}},
		{path: "testdata/script/marks.txtar", text: "json feedproof marks\n", says: []string{"feedproof marks: stands in no script of testdata/script", "feedproof marks: is tried with --json: false"}},
	},
	"a language": {{path: "cmd/internal/language/fr.json", text: "all of en.json", forgot: "all of en.json but one", says: []string{"fr: keys (-en +fr)"}}},
}

const markExample = `{"record":"vehicle","version":1,"id":"car-0043","entries":[
{"after":[],"at":"2026-03-02T16:12:00Z","by":"tech-2","counter":1,"data":{"text":"fuel: E85"},"device":"bay-2","entered":"2026-03-02T16:12:00Z","id":"01KJQN4740GAPYNFGMRC9X5BXG","kind":"mark","sig":"AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA"}
]}
`

const namedRule = `
import (
	"feedproof/checklist/state"
	"feedproof/schema"
)

var _ = register(Rule{
	ID: "X90", Title: "the car is described",
	What: "A car that has a name has a description.", Limits: "some words", Source: "common practice", Means: "Another car may be meant.",
	Judge: func(c *state.Car) []schema.Finding {
		if c.Vehicle.Description != "undescribed" {
			return nil
		}
		return []schema.Finding{{Rule: "X90", Severity: schema.Flag, About: "description", Measured: "none", Limit: "some words", Means: "another car may be meant", Next: "describe it"}}
	},
`

const namedScenario = `{"id": "X90", "note": "Nobody described the car.", "source": "common practice", "base": "clean",
 "edit": [{"entry": "vehicle", "set": {"/description": "undescribed"}}],
 "expect": [{"rule": "X90", "severity": "FLAG", "says": "none"}]}
`

const platesQuestion = `package audit

var _ = register(Question{
	ID: "Q29", Name: "plates", Title: "Which cars have a plate?",
	How: "The plate that stands in the car's description.",
}, func(a *asking) error {
	a.carColumns("since: date")
	return each(a, tablePlates, "", func(record string, rows []stamp) error { return a.row(record, []string{rows[0].Entry}, rows[0].day()) })
})

var tablePlates = vehicleTable("plates", func(s subject) []stamp { return []stamp{*stampOf(s.Entries[0])} })
`

const platesTest = `package audit

import "testing"

func TestPlates(t *testing.T) {
	s := newShop(t)
	s.car("finch", "F1").open("1", 1)
	same(t, s.ask(day, "plates"), "finch|F1|2026-03-02")
}
`

// marksCommand is the file of a command.
func marksCommand(name string) string {
	return strings.ReplaceAll(`package cli

import (
	"fmt"

	"github.com/spf13/cobra"
)

func (a *app) marksCommand() *cobra.Command {
	return &cobra.Command{
		Use: "marks", Short: "say how many marks there are", Args: cobra.NoArgs, Example: "  feedproof marks",
		RunE: func(c *cobra.Command, _ []string) error {
			_, err := fmt.Fprintln(c.OutOrStdout(), 0)
			return err
		},
	}
}
`, "marks", name)
}

// tried are the tests that hold additions to what they need.
var tried = [][]string{
	{"-run", "TestTableOfTests|TestReadings|TestFrozen|TestFactors|TestEveryRule|TestWhoMayWhat|TestFactOfEveryKind|TestLanguagesAreComplete|TestHelp|TestExamplesParse|TestEveryCommandIsListed|AreWritten",
		"./schema/...", "./checklist", "./records/signature", "./cmd/internal/cli", "./cmd/internal/facts", "./cmd/internal/language", "./cmd/dev/schemas", "./cmd/dev/manual"},
	{"-run", "TestWhatRuns", "./checklist/rules"},
	{"-run", "^TestScenarios$/^X90$", "./checklist"},
	{"./checklist/audit"},
	{"-run", "^(TestScripts|TestEveryCommandIsTried)$/^marks$", "./cmd/feedproof"},
}

// TestExtending makes every addition in a copy of the tree: whole, all tests
// that hold it pass; with everything forgotten that can be, each is named. Most
// of its time is building: 90 s of one processor when nothing is cached.
func TestExtending(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the module twice")
	}
	ctx, cancel := context.WithTimeout(t.Context(), 15*time.Minute)
	defer cancel()
	whole := copied(t, func(e edit) string { return e.text })
	generate(t, ctx, whole)
	if said, ok := tests(ctx, whole, tried...); !ok {
		t.Errorf("with every addition whole:\n%s", said)
	}
	said := forgotten(t, ctx)
	for name, edits := range additions {
		for _, e := range edits {
			for _, says := range e.says {
				if !strings.Contains(said, says) {
					t.Errorf("%s: %s: forgotten, and no test says %q", name, e.path, says)
				}
			}
		}
	}
	if t.Failed() {
		t.Logf("with everything forgotten:\n%s", said)
	}
}

// forgotten is what the tests say when everything was forgotten; and, with the
// example of the entry kind alone remembered, what tells it.
func forgotten(t *testing.T, ctx context.Context) string {
	t.Helper()
	dir := copied(t, func(e edit) string {
		if len(e.says) > 0 {
			return e.forgot
		}
		return e.text
	})
	said, _ := tests(ctx, dir, tried...)
	if err := (edit{path: "testdata/formats/v1/vehicle-mark.json"}).make(dir, markExample); err != nil {
		t.Fatal(err)
	}
	more, _ := tests(ctx, dir, []string{"-run", "TestFactOfEveryKind", "./cmd/internal/facts"})
	return said + more
}

// copied is a copy of the tree with the additions.
func copied(t *testing.T, text func(edit) string) string {
	t.Helper()
	dir := t.TempDir()
	for _, name := range []string{"cmd", "checklist", "records", "schema", "testdata", "go.mod", "go.sum", "DEVELOPERS.md"} {
		copyTree(t, filepath.Join("..", name), filepath.Join(dir, name))
	}
	for name, edits := range additions {
		for _, e := range edits {
			if err := e.make(dir, text(e)); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
		}
	}
	return dir
}

func copyTree(t *testing.T, from, to string) {
	t.Helper()
	err := filepath.WalkDir(from, func(p string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(from, p)
		if err != nil {
			return err
		}
		target := filepath.Join(to, rel)
		if entry.IsDir() {
			return os.MkdirAll(target, 0o755)
		}
		text, err := os.ReadFile(p)
		if err != nil {
			return err
		}
		return os.WriteFile(target, text, 0o644)
	})
	if err != nil {
		t.Fatal(err)
	}
}

func (e edit) make(dir, text string) error {
	file := filepath.Join(dir, filepath.FromSlash(e.path))
	if strings.HasPrefix(text, "all of en.json") {
		english, err := os.ReadFile(filepath.Join(filepath.Dir(file), "en.json"))
		if err != nil {
			return err
		}
		if text != "all of en.json" {
			english = bytes.Replace(english, []byte(`"fuel.open"`), []byte(`"fuel.ouvert"`), 1)
		}
		text = string(english)
	}
	if e.anchor != "" {
		before, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		above, below, found := strings.Cut(string(before), e.anchor)
		if !found {
			return fmt.Errorf("%s: no longer has %q", e.path, e.anchor)
		}
		text = above + e.anchor + text + below
	}
	if text == "" {
		return nil
	}
	return os.WriteFile(file, []byte(text), 0o644)
}

func generate(t *testing.T, ctx context.Context, dir string) {
	t.Helper()
	if out, err := goCommand(ctx, dir, "generate", "./schema", "./cmd/dev/manual").CombinedOutput(); err != nil {
		t.Fatalf("go generate: %v\n%s", err, out)
	}
}

// tests runs go test with several lists of arguments, and returns what it said.
func tests(ctx context.Context, dir string, lists ...[]string) (said string, ok bool) {
	ok = true
	for _, args := range lists {
		out, err := goCommand(ctx, dir, append([]string{"test", "-vet=off"}, args...)...).CombinedOutput()
		said += string(out)
		ok = ok && err == nil
	}
	return said, ok
}

// goCommand is the go command in a copy, whose packages are those of any other.
func goCommand(ctx context.Context, dir string, args ...string) *exec.Cmd {
	c := exec.CommandContext(ctx, "go", args...)
	c.Dir = dir
	c.Env = append(os.Environ(), "GOFLAGS=-trimpath")
	return c
}
