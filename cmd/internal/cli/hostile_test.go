package cli

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"feedproof/cmd/internal/desktest"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// hostile are 200 texts that would steer a terminal, turn a line round, hide, break a page or a cell. Sources: ECMA-48 (controls), Unicode
// UAX 9 (direction) and TR 36 (zero width), OWASP CSV Injection.
func hostile() []string {
	var texts []string
	for r := rune(1); r < 0x20; r++ {
		texts = append(texts, "a"+string(r)+"b")
	}
	for r := rune(0x7f); r < 0xa0; r++ {
		texts = append(texts, string(r)+"2Jc")
	}
	for _, span := range [][2]rune{{0x200b, 0x200f}, {0x202a, 0x202e}, {0x2060, 0x2069}, {0xfeff, 0xfeff}, {0x2028, 0x2029}, {0xad, 0xad}, {0x61c, 0x61c}} {
		for r := span[0]; r <= span[1]; r++ {
			texts = append(texts, "12"+string(r)+"34", string(r)+"NEPO LEUF")
		}
	}
	for n := range 50 {
		texts = append(texts, fmt.Sprintf("\x1b[%dmhidden\x1b[0m", n))
	}
	for _, first := range []string{"=", "+", "-", "@", "\t", "\r", "\n", "＝"} {
		texts = append(texts, first+"HYPERLINK(1)", first+"1+1", " "+first)
	}
	return append(texts, "\x1b]0;title\a", "\x1b]8;;x\a", "\x1bc", "\x1b[1F\x1b[2K", "\u009b8m", "a\x9bb", "<script>alert(1)</script>", "&#27;[8m", "&#x202e;", "| a | b |",
		"\x1b[?1049h", "\x1bP$q\x1b\\")
}

// hidden is what no output may hold: written down again, not asked of the program.
var hidden = regexp.MustCompile("[\x00-\x08\x0b-\x1f\x7f\u0080-\u009f\u00ad\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff]")

// typing is somebody who types hostile texts into a shop.
type typing struct {
	*testing.T
	dir   string
	texts []string
	next  int
	ran   int
	taken int // commands that did it
}

func (ty *typing) text() string {
	ty.next++
	return ty.texts[ty.next%len(ty.texts)]
}

// run gives what a command line says, and holds that nothing hidden leaves.
func (ty *typing) run(args ...string) string {
	ty.Helper()
	var out bytes.Buffer
	w := World{In: strings.NewReader(""), Out: &out, Err: &out, Dir: ty.dir, Now: func() time.Time { return desktest.Now }, Version: "v0", Reader: ty.ran%2 == 0,
		Getenv: func(name string) string { return map[string]string{"FEEDPROOF_AS": "lead-1"}[name] }}
	ty.ran++
	if Main(w, args) == exitDone {
		ty.taken++
	}
	if at := hidden.FindStringIndex(out.String()); at != nil {
		ty.Errorf("%q: shows %q", args, out.String()[max(0, at[0]-40):min(at[1]+40, out.Len())])
	}
	return out.String()
}

// hostileCar is the chassis number of the shop's car.
const hostileCar = "ZZ9FP2KT0N0004711"

// notTyped are commands that are left out, and why.
var notTyped = map[string]string{
	"feedproof demo": "plays the other commands", "feedproof work": "is a talk", "feedproof merge-driver": "writes the file that git names",
	"feedproof": "is the board",
}

// Hostile texts in every argument and every text flag of every command steer no screen, no pipe and no file that leaves.
func TestHostileTexts(t *testing.T) {
	ty := &typing{T: t, dir: desktest.Shop(t), texts: hostile()}
	if len(ty.texts) < 200 {
		t.Fatalf("only %d texts", len(ty.texts))
	}
	for _, text := range ty.texts {
		ty.run("note", "kestrel", text)
	}
	every(t, func(c *cobra.Command) {
		if notTyped[c.CommandPath()] == "" && c.Runnable() && !c.HasAvailableSubCommands() {
			ty.everyField(c)
		}
	})
	if ty.ran < 600 || ty.taken < 250 {
		t.Errorf("%d command lines, %d of them done", ty.ran, ty.taken)
	}
	ty.looks()
}

// everyField types a text into each argument and flag of the command's first example, and into each flag that it does not show.
func (ty *typing) everyField(c *cobra.Command) {
	example, _, _ := strings.Cut(strings.TrimSpace(strings.ReplaceAll(c.Example, "\\\n", "")), "\n")
	words := withoutPipe(demoArgs(strings.ReplaceAll(example, "'", "\"")))
	if len(words) == 0 {
		return
	}
	words = words[1:]
	if c.CommandPath() != "feedproof vehicle add" { // there are more of that name by then
		for i := range words {
			words[i] = strings.Replace(words[i], "kestrel", hostileCar, 1)
		}
	}
	depth := len(strings.Fields(c.CommandPath())) - 1
	for i := depth; i < len(words); i++ {
		if !strings.HasPrefix(words[i], "-") {
			ty.run(append(append(slices.Clone(words[:i]), "--plain", ty.text()), words[i+1:]...)...)
		}
	}
	c.LocalFlags().VisitAll(func(f *pflag.Flag) {
		if f.Value.Type() != "bool" {
			ty.run(append(slices.Clone(words), "--"+f.Name+"="+ty.text())...)
		}
	})
}

// looks has every output that reads the shop, and every file that leaves.
func (ty *typing) looks() {
	for _, args := range [][]string{
		{"board"}, {"vehicle", "list"}, {"vehicle", "show", hostileCar}, {"history", hostileCar}, {"check", hostileCar}, {"check", hostileCar, "--all"}, {"plan", hostileCar},
		{"part", "list"}, {"gauge", "list"}, {"person", "list"}, {"bay", "list"}, {"morning"}, {"verify"}, {"log"},
		{"sheet", hostileCar}, {"sheet", hostileCar, "--for", "customer"}, {"sheet", hostileCar, "--for", "auditor"}, {"sheet", hostileCar, "--paper"},
	} {
		ty.run(args...)
		ty.run(append(args, "--plain")...)
	}
	out := ty.TempDir()
	for _, reader := range []string{"customer", "lead", "auditor"} {
		if said := ty.run("sheet", hostileCar, "--for", reader, "--out", filepath.Join(out, reader+".html")); !strings.Contains(said, "written to") {
			ty.Errorf("sheet for %s: %s", reader, said)
		}
		ty.run("sheet", hostileCar, "--for", reader, "--out", filepath.Join(out, reader+".md"))
	}
	ty.run("commit", hostileCar, "--held", "-m", "as it is")
	ty.run("export", filepath.Join(out, "export"))
	ty.files(out)
	if answer := ty.run("ask", "waivers", "--csv"); !strings.HasPrefix(answer, "record_kind,") {
		ty.Errorf("ask --csv: %s", answer)
	}
}

// files looks at every file that was written: pages, tables and texts; lines of JSON are exact.
func (ty *typing) files(dir string) {
	seen := map[string]int{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || filepath.Ext(path) == ".jsonl" {
			return err
		}
		content, err := os.ReadFile(path)
		seen[filepath.Ext(path)]++
		text := strings.ReplaceAll(string(content), "\r\n", "\n")
		if at := hidden.FindString(text); at != "" {
			ty.Errorf("%s: holds %q", path, at)
		}
		if filepath.Ext(path) == ".csv" {
			ty.cells(path, text)
		}
		if filepath.Ext(path) == ".html" && strings.Contains(text, "<script") {
			ty.Errorf("%s: holds a script", path)
		}
		return err
	})
	if err != nil || seen[".html"] < 3 || seen[".md"] < 3 || seen[".csv"] < 5 {
		ty.Errorf("files: %v, %v", seen, err)
	}
}

// cells holds that no spreadsheet computes a cell of a table.
func (ty *typing) cells(path, text string) {
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil || len(rows) == 0 {
		ty.Errorf("%s: %d rows, %v", path, len(rows), err)
	}
	number := regexp.MustCompile(`^[-+]?[0-9.]+(e[-+]?[0-9]+)?$`)
	for _, row := range rows {
		for _, cell := range row {
			if cell != "" && strings.ContainsAny(cell[:1], "=+-@\t\r") && !number.MatchString(cell) {
				ty.Errorf("%s: cell %q is computed", path, cell)
			}
		}
	}
}
