package release

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

var (
	moment = time.Date(2026, time.March, 2, 9, 0, 0, 0, time.UTC)
	two    = []file{{"man/b.1", 0o644, []byte("page\n")}, {"a", 0o755, []byte("program\n")}}
)

// GNU tar and Python's zipfile read the archives: names, modes, times, bytes.
func TestArchivesAsOthersReadThem(t *testing.T) {
	dir := t.TempDir()
	for name, packed := range map[string]func(string, []file, time.Time) ([]byte, error){"x.tar.gz": tarred, "x.zip": zipped} {
		data, err := packed("x", two, moment)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		want string
		line []string
	}{
		{"-rwxr-xr-x 0/0 8 2026-03-02 09:00 x/a\n-rw-r--r-- 0/0 5 2026-03-02 09:00 x/man/b.1\n", []string{"tar", "--utc", "-tvzf", "x.tar.gz"}},
		{"program\n", []string{"tar", "-xOzf", "x.tar.gz", "x/a"}},
		{"x/a 0o100755 (2026, 3, 2, 9, 0, 0) b'program\\n'\nx/man/b.1 0o100644 (2026, 3, 2, 9, 0, 0) b'page\\n'\n",
			[]string{"python3", "-c", "import zipfile\nz = zipfile.ZipFile('x.zip')\nfor i in z.infolist(): print(i.filename, oct(i.external_attr >> 16), i.date_time, z.read(i))"}},
	} {
		run := exec.Command(c.line[0], c.line[1:]...)
		run.Dir = dir
		out, err := run.CombinedOutput()
		if got := squeezed(string(out)); err != nil || got != c.want {
			t.Errorf("%v: %v\n%s\nwant\n%s", c.line, err, got, c.want)
		}
	}
}

// squeezed has one space where tar aligns columns.
func squeezed(text string) string {
	for strings.Contains(text, "  ") {
		text = strings.ReplaceAll(text, "  ", " ")
	}
	return text
}

// Files in another order, and another call, make the same bytes.
func TestArchivesAreTheSame(t *testing.T) {
	turned := []file{two[1], two[0]}
	for name, packed := range map[string]func(string, []file, time.Time) ([]byte, error){"tar": tarred, "zip": zipped} {
		a, err := packed("x", two, moment)
		if err != nil {
			t.Fatal(err)
		}
		b, err := packed("x", turned, moment)
		if err != nil {
			t.Fatal(err)
		}
		later, err := packed("x", two, moment.Add(time.Hour))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(a, b) || bytes.Equal(a, later) {
			t.Errorf("%s: two orders the same %v, two times the same %v", name, bytes.Equal(a, b), bytes.Equal(a, later))
		}
	}
}

func TestNotes(t *testing.T) {
	const text = "# Changelog\n\n## Unreleased\n\n- new\n\n## v0.2.0 (2026-03-02)\n\n- more\n\n## v0.1.0\n\n"
	for version, want := range map[string]string{
		"v0.2.0": "- more", "v0.3.0": "", "v0.1.0": "", "v0.2": "",
		"v0.0.0-20260302090000-0123456789ab": "- new", "v0.2.1-0.20260302090000-0123456789ab": "- new", "v0.3.0-rc.1": "",
	} {
		got, err := notes(text, version)
		if got != want || (err == nil) != (want != "") {
			t.Errorf("%s: %q, %v; want %q", version, got, err, want)
		}
	}
}

// The changelog of this commit has something to say of what is not released, or
// of the newest version; its table of formats has a row for each.
func TestChangelog(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "..", filepath.FromSlash(changelog)))
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for line := range strings.Lines(string(text)) {
		heading, _ := strings.CutPrefix(line, "## ")
		version, _, _ := strings.Cut(strings.TrimSpace(heading), " ")
		if heading == line || version != unreleased && !strings.HasPrefix(version, "v") {
			continue
		}
		seen++
		if !strings.Contains(string(text), "\n| "+version+" | ") {
			t.Errorf("%s: %s: not in the table of formats", changelog, version)
		}
		asked := version
		if version == unreleased {
			asked = "v0.0.0-20260302090000-0123456789ab"
		}
		if _, err := notes(string(text), asked); err != nil {
			t.Error(err)
		}
	}
	if seen == 0 {
		t.Errorf("%s: no version", changelog)
	}
}

// From Debian's policy, 5.6.12: a tilde sorts before the end of a part, so a
// version before v0.1.0 must have one.
func TestDebianVersion(t *testing.T) {
	for version, want := range map[string]string{
		"v0.1.0": "0.1.0", "v0.1.0-rc.1": "0.1.0~rc.1", "v0.0.0-20260302090000-0123456789ab": "0.0.0~20260302090000.0123456789ab",
	} {
		if got := debianVersion(version); got != want {
			t.Errorf("%s: %s, want %s", version, got, want)
		}
	}
}

// The licence of this module, Apache-2.0, may be handed on; a text that grants
// nothing, one with more than a licence, and Mozilla's, which asks for source, may not.
func TestTerms(t *testing.T) {
	apache, err := os.ReadFile("../../../LICENSE")
	if err != nil {
		t.Fatal(err)
	}
	dir, err := command("", nil, "go", "list", "-m", "-f", "{{.Dir}}", "github.com/cyphar/filepath-securejoin")
	if err != nil {
		t.Fatal(err)
	}
	mozilla, err := os.ReadFile(filepath.Join(strings.TrimSpace(dir), "LICENSE.MPL-2.0"))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ text, fault string }{
		{string(apache), ""},
		{"Copyright somebody. All rights reserved.", "only 0 %"},
		{string(apache) + strings.Repeat("You may not use it on Mondays. ", 300), "of it is the text of a known licence"},
		{string(mozilla), "licence MPL-2.0 is none of"},
	} {
		err := terms([]byte(c.text))
		if c.fault == "" && err != nil || c.fault != "" && (err == nil || !strings.Contains(err.Error(), c.fault)) {
			t.Errorf("%.40q: %v, want %q", c.text, err, c.fault)
		}
	}
}

func TestChoose(t *testing.T) {
	if got, err := choose("windows-arm64"); err != nil || cmp.Diff([]platform{{"windows", "arm64"}}, got, cmp.AllowUnexported(platform{})) != "" {
		t.Errorf("%v, %v", got, err)
	}
	if got, err := choose(""); err != nil || len(got) != 6 {
		t.Errorf("%v, %v", got, err)
	}
	if _, err := choose("plan9-amd64"); err == nil {
		t.Error("plan9-amd64 is built")
	}
}

func TestWindowsLines(t *testing.T) {
	if got := string(windowsLines("a\nb\n")); got != "a\r\nb\r\n" {
		t.Errorf("%q", got)
	}
}
