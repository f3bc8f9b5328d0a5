package terminal

import (
	"bytes"
	"strings"
	"testing"

	"feedproof/cmd/internal/facts"
	"feedproof/schema"

	"github.com/charmbracelet/x/ansi"
	"github.com/google/go-cmp/cmp"
)

// page is a screen that writes into memory as a terminal or a pipe would.
func page(width int, o Options) (*Screen, *bytes.Buffer) {
	var out bytes.Buffer
	s := New(&out, &out, o)
	if width > 0 {
		s.terminal, s.laid, s.width, s.color = true, true, width, !o.Plain && !o.NoColor
	}
	return s, &out
}

var low = schema.Finding{
	Rule: "L06", Severity: schema.Hold, About: "base pressure", Measured: "2.70 bar (39.2 psi)", Limit: "3.00 bar (43.5 psi) ± 0.07 bar (1.0 psi)",
	Means: "base pressure is off target, and every injector with it", Next: "check the gauge's zero, set the regulator, read again",
}

// What is typed as it is read is not broken at its hyphens, and no line is wider
// than the screen.
func TestWrappingKeepsHyphensWithinWords(t *testing.T) {
	text := "stop, call the lead, write it down: feedproof incident avocet-0016 --what ... --severity ... by 2021-06-23, as on the photo of the bay, tech-2"
	for width := 24; width <= 100; width++ {
		s, out := page(width, Options{NoColor: true})
		s.Say("%s", text)
		s.Head("%s", text)
		s.Table([]string{"#", "WHAT"}, [][]string{{"4", text}})
		for _, word := range []string{"avocet-0016", "--what", "--severity", "2021-06-23", "tech-2"} {
			if n := strings.Count(out.String(), word); n != 3 {
				t.Errorf("%d columns: %s stands %d times of 3:\n%s", width, word, n, out)
			}
		}
		for line := range strings.Lines(out.String()) {
			if n := ansi.StringWidth(strings.TrimRight(line, "\n")); n > width {
				t.Errorf("%d columns: %d wide: %q", width, n, line)
			}
		}
	}
}

func TestFindingOnATerminal(t *testing.T) {
	s, out := page(80, Options{NoColor: true})
	s.Findings([]schema.Finding{low})
	want := `■ Can't leave yet (HOLD)  L06 base pressure
    2.70 bar (39.2 psi) (limit 3.00 bar (43.5 psi) ± 0.07 bar (1.0 psi)): base
    pressure is off target, and every injector with it.
    Next: check the gauge's zero, set the regulator, read again.
`
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Error(diff)
	}
}

func TestFindingInAPipeIsOneLine(t *testing.T) {
	s, out := page(0, Options{})
	s.Findings([]schema.Finding{low})
	want := "■ HOLD\tL06\tbase pressure\t2.70 bar (39.2 psi)\tlimit 3.00 bar (43.5 psi) ± 0.07 bar (1.0 psi)\tbase pressure is off target, and every injector with it\tcheck the gauge's zero, set the regulator, read again\n"
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Error(diff)
	}
}

// What is in order asks for nothing, and an answered finding neither.
func TestFindingThatAsksForNothing(t *testing.T) {
	fine, flagged := low, low
	fine.Severity = schema.OK
	flagged.Severity, flagged.Answered = schema.Flag, "01JDA0"
	s, out := page(0, Options{})
	s.Findings([]schema.Finding{fine, flagged})
	if text := out.String(); strings.Contains(text, "set the regulator") || !strings.Contains(text, "\tanswered\n") {
		t.Errorf("%s", text)
	}
}

// Every severity has its own word, a shape and a colour; a word is never left
// out, and without colour nothing else steers the terminal.
func TestMarks(t *testing.T) {
	seen := map[string]schema.Severity{}
	for severity := schema.OK; severity <= schema.Stop; severity++ {
		m, ok := marks[severity]
		if !ok || facts.Shape(severity) == "" || m.plain == "" || m.color == "" {
			t.Fatalf("%s: has no whole mark: %+v", severity, m)
		}
		if other, twice := seen[m.word]; twice {
			t.Errorf("%s and %s: have one word, %q", severity, other, m.word)
		}
		seen[m.word] = severity
		for _, o := range []Options{{}, {NoColor: true}, {Plain: true}} {
			s, _ := page(80, o)
			text := s.Mark(severity)
			if !strings.Contains(text, severity.String()) || !strings.Contains(text, m.word) {
				t.Errorf("%s: %q lacks its word", severity, text)
			}
			if colored := text != ansi.Strip(text); colored != s.color {
				t.Errorf("%s with %+v: coloured %t", severity, o, colored)
			}
			if o.Plain && strings.ContainsFunc(text, func(r rune) bool { return r > 127 }) {
				t.Errorf("%s: %q is not plain", severity, text)
			}
		}
	}
}

// A reader gets the same layout through a pipe, and no colour.
func TestFindingForAReader(t *testing.T) {
	terminal, shown := page(80, Options{NoColor: true})
	terminal.Findings([]schema.Finding{low})
	var out bytes.Buffer
	New(&out, &out, Options{Reader: true}).Findings([]schema.Finding{low})
	if out.String() != shown.String() {
		t.Errorf("a reader gets %q, a terminal %q", out.String(), shown.String())
	}
}

func TestTable(t *testing.T) {
	header := []string{"#", "WHO", "WHAT"}
	rows := [][]string{{"1", "lead-1", "car kestrel"}, {"12", "t", "a long text that does not fit beside the columns before it"}}
	s, out := page(40, Options{NoColor: true})
	s.Table(header, rows)
	want := `#   WHO     WHAT
1   lead-1  car kestrel
12  t       a long text that does not
            fit beside the columns
            before it
`
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Error(diff)
	}
	s, out = page(0, Options{})
	s.Table(header, append(rows, []string{"13", "t", "two\nlines\tand a tab"}))
	want = "1\tlead-1\tcar kestrel\n12\tt\ta long text that does not fit beside the columns before it\n13\tt\ttwo lines and a tab\n"
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Error(diff)
	}
}

// Nothing that a narrow terminal shows is wider than it.
func TestWidth(t *testing.T) {
	for _, width := range []int{40, 80, 100} {
		s, out := page(width, Options{NoColor: true})
		s.Findings([]schema.Finding{low})
		s.Table([]string{"ID", "NAME", "WHAT"}, [][]string{{"P1", strings.Repeat("x", 30), "rail gauge, class 0.1 of 10 bar"}})
		s.Say("%s", strings.Repeat("word ", 40))
		for _, line := range strings.Split(out.String(), "\n") {
			if w := ansi.StringWidth(line); w > width {
				t.Errorf("at %d columns a line has %d: %q", width, w, line)
			}
		}
	}
}

// A note from another machine must not steer the terminal.
func TestTame(t *testing.T) {
	for text, want := range map[string]string{
		"plain":                         "plain",
		"two\nlines":                    "two\nlines",
		"bell\a":                        "bell[U+0007]",
		"\x1b[2Jgone":                   "[U+001B][2Jgone",
		"\x1b]0;title\a":                "[U+001B]]0;title[U+0007]",
		"\x1b[31mred\x1b[0m":            "[U+001B][31mred[U+001B][0m",
		"\u009b2J c1":                   "[U+009B]2J c1",
		colored("1", "bold") + " \x1b7": colored("1", "bold") + " [U+001B]7",
	} {
		if got := tame(text); got != want {
			t.Errorf("tame(%q) = %q, want %q", text, got, want)
		}
	}
}

func TestMarkdownInAPipeIsAsItIs(t *testing.T) {
	s, out := page(0, Options{})
	if err := s.Markdown("# Title\n\n| a | b |\n| --- | --- |\n| 1 | 2 |\n\n"); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff("# Title\n\n| a | b |\n| --- | --- |\n| 1 | 2 |\n", out.String()); diff != "" {
		t.Error(diff)
	}
}

func TestMarkdownOnATerminal(t *testing.T) {
	s, out := page(60, Options{NoColor: true})
	if err := s.Markdown("# Title\n\n| a | b |\n| --- | --- |\n| one | two |\n"); err != nil {
		t.Fatal(err)
	}
	if text := out.String(); !strings.Contains(text, "Title") || !strings.Contains(text, "one  ") || !strings.Contains(text, "| two") || text != ansi.Strip(text) {
		t.Errorf("%q", text)
	}
}

// A page keeps its options and names whole too, and is laid out without symbols
// as with them.
func TestPagesKeepHyphensWithinWords(t *testing.T) {
	text := "# Q08: beyond-envelope\n\n- one\n- two\n\nwhat was not declared is not compared: `feedproof history avocet-0016 --since-last` lists what to ask, from 2021-06-23 on, ± 0.07 bar\n"
	for width := 40; width <= 100; width++ {
		for _, o := range []Options{{NoColor: true}, {Plain: true}} {
			s, out := page(width, o)
			if err := s.Markdown(text); err != nil {
				t.Fatal(err)
			}
			for _, word := range []string{"beyond-envelope", "avocet-0016", "--since-last", "2021-06-23"} {
				if !strings.Contains(out.String(), word) {
					t.Errorf("%d columns: %s is broken:\n%s", width, word, out)
				}
			}
			for line := range strings.Lines(out.String()) {
				if n := ansi.StringWidth(strings.TrimRight(line, " \n")); n > width {
					t.Errorf("%d columns: %d wide: %q", width, n, line)
				}
			}
			if o.Plain && strings.ContainsFunc(out.String(), func(r rune) bool { return r > '~' }) {
				t.Errorf("it is not plain:\n%s", out)
			}
		}
	}
}
