package manual

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"feedproof/cmd/internal/cli"

	"github.com/google/go-cmp/cmp"
	"github.com/spf13/cobra"
)

// written is the reference as the commands write it now.
func written(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	if err := Write(dir); err != nil {
		t.Fatal(err)
	}
	return dir
}

// Each command has its page; the page of a command that went is taken away;
// writing twice writes the same.
func TestWrite(t *testing.T) {
	dir := written(t)
	first := files(t, dir)
	stale := filepath.Join(dir, "man", "feedproof-gone.1")
	if err := os.WriteFile(stale, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := Write(dir); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(first, files(t, dir)); diff != "" || len(first) < 40 {
		t.Errorf("%d files, then others:\n%s", len(first), diff)
	}
}

// The pages in the repository are those that are written now.
func TestPagesAreWritten(t *testing.T) {
	if diff := cmp.Diff(files(t, written(t)), files(t, "../../feedproof/docs")); diff != "" {
		t.Errorf("cmd/feedproof/docs: go generate ./cmd/dev/manual writes (-) and not (+):\n%s", diff)
	}
}

func files(t *testing.T, dir string) map[string]string {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(dir, "man", "*.1"))
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	for _, name := range append(found, filepath.Join(dir, "reference.md")) {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		out[filepath.Base(name)] = string(text)
	}
	return out
}

// Every command stands in the reference, with its example.
func TestReferenceIsWhole(t *testing.T) {
	text := files(t, written(t))["reference.md"]
	count := 0
	var visit func(*cobra.Command)
	visit = func(c *cobra.Command) {
		if c.IsAvailableCommand() {
			count++
			if !strings.Contains(text, "\n## "+c.CommandPath()+"\n") {
				t.Errorf("%s is not in the reference", c.CommandPath())
			}
		}
		for _, sub := range c.Commands() {
			visit(sub)
		}
	}
	visit(cli.Commands())
	if count < 40 {
		t.Fatalf("only %d commands", count)
	}
}

// The manual pages are such: man finds nothing wrong with them (groff and
// mandoc read the same language, from memory; man-db's lexgrog reads the name).
func TestManualPagesAreRead(t *testing.T) {
	lexgrog, err := exec.LookPath("lexgrog")
	if err != nil {
		t.Fatal("lexgrog is not installed: apt-get install man-db")
	}
	found, err := filepath.Glob(filepath.Join(written(t), "man", "*.1"))
	if err != nil || len(found) == 0 {
		t.Fatalf("no pages: %v", err)
	}
	for _, page := range found {
		out, err := exec.Command(lexgrog, page).CombinedOutput()
		if err != nil {
			t.Errorf("%s: %v: %s", page, err, out)
		}
	}
}
