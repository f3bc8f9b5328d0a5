package house

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"
)

func moduleOf(files map[string]string) fstest.MapFS {
	all := fstest.MapFS{}
	for name, text := range files {
		all[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return all
}

func importing(paths ...string) string {
	text := "package p\n"
	for _, p := range paths {
		text += "import _ \"" + p + "\"\n"
	}
	return text
}

// The way from the program to schema is shown by the way through records, and
// not again; packages in a small folder stand in its room; tests do not count.
func TestDraw(t *testing.T) {
	got, err := draw(moduleOf(map[string]string{
		"cmd/prog/main.go":              importing("fmt", "feedproof/cmd/internal/cli"),
		"cmd/internal/cli/cli.go":       importing("feedproof/records", "feedproof/schema", "example.org/other"),
		"cmd/internal/cli/cli_test.go":  importing("feedproof/checklist"),
		"cmd/internal/cli/sub/sub.go":   importing("feedproof/checklist"),
		"checklist/check.go":            importing("feedproof/schema"),
		"records/records.go":            importing("feedproof/records/internal/fs", "feedproof/schema"),
		"records/internal/fs/fs.go":     importing("feedproof/records/internal/disk"),
		"records/internal/disk/disk.go": importing(),
		"schema/schema.go":              importing(),
		"testdata/other.go":             importing("feedproof/cmd/internal/cli"),
	}))
	if err != nil {
		t.Fatal(err)
	}
	want := "```mermaid" + `
flowchart TD
  subgraph floor0 [what people use]
    cmd_internal_cli[cli]
    cmd_prog[cmd/prog]
  end
  subgraph floor1 [what is judged, what is kept]
    checklist[checklist]
    records[records]
    records_internal[records/internal]
  end
  subgraph floor2 [the form on disk]
    schema[schema]
  end
  checklist --> schema
  cmd_internal_cli --> checklist & records
  cmd_prog --> cmd_internal_cli
  records --> records_internal & schema
` + "```\n"
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestDrawRefuses(t *testing.T) {
	for name, test := range map[string]struct {
		files map[string]string
		want  string
	}{
		"nothing":    {map[string]string{"go.mod": "module feedproof\n"}, "no package found"},
		"upwards":    {map[string]string{"schema/s.go": importing("feedproof/records"), "records/r.go": importing()}, "schema: imports records, which is above it"},
		"a circle":   {map[string]string{"records/a/a.go": importing("feedproof/records/b"), "records/b/b.go": importing("feedproof/records/a")}, "records/a: imports itself, by a way round"},
		"no floor":   {map[string]string{"attic/a.go": importing()}, "attic: stands on no floor: give its folder one in cmd/dev/house"},
		"not Go":     {map[string]string{"schema/s.go": "nothing"}, "schema/s.go:1:1: expected 'package', found nothing"},
		"for a test": {map[string]string{"schema/s.go": importing("feedproof/schematest")}, "schema: imports schematest, which is for tests"},
	} {
		if _, err := draw(moduleOf(test.files)); err == nil || err.Error() != test.want {
			t.Errorf("%s: %v, want %s", name, err, test.want)
		}
	}
}

func TestRun(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Mkdir(filepath.Join(dir, "schema"), 0o700); err != nil {
		t.Fatal(err)
	}
	write("schema/s.go", importing())
	write("DEVELOPERS.md", "before\n"+begin+"old\n"+end+"after\n")
	if err := Run([]string{dir}, nil); err != nil {
		t.Fatal(err)
	}
	page, err := os.ReadFile(filepath.Join(dir, "DEVELOPERS.md"))
	if err != nil {
		t.Fatal(err)
	}
	if text := string(page); !strings.HasPrefix(text, "before\n"+begin+"```mermaid\n") || !strings.HasSuffix(text, "```\n"+end+"after\n") || strings.Contains(text, "old") {
		t.Errorf("the page is\n%s", text)
	}
	write("DEVELOPERS.md", "no marks\n")
	if err := Run([]string{dir}, nil); err == nil || !strings.Contains(err.Error(), "lacks the lines") {
		t.Errorf("without marks: %v", err)
	}
}

// The drawing in the repository is the one that is drawn now.
func TestDrawingIsTrue(t *testing.T) {
	chart, err := draw(os.DirFS("../../.."))
	if err != nil {
		t.Fatal(err)
	}
	page, err := os.ReadFile("../../../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(page), begin+chart+end) {
		t.Errorf("DEVELOPERS.md: go generate ./cmd/dev/house draws\n%s", chart)
	}
}
