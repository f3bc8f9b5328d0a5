package sheets

import (
	"encoding/json"
	"flag"
	"html"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"feedproof/checklist"
	"feedproof/schema"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

var update = flag.Bool("update", false, "write the golden sheets and the judgement they show anew")

// kestrel is the car of the demo, invented from end to end.
const kestrel = "testdata/kestrel"

var (
	moment = time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	origin = Origin{Printed: moment, Device: "bay-laptop", Head: "448140a29eac9159bad5d9d8eff16ce02f7fa7df", Draft: 1, Key: "SHA256:x40WJ37GP3xAWrg5FljaN8E2ST2CunC8ZeR6z65ggpY"}
)

// judgement is what the checklist said of the car. It is kept, so that a sheet
// changes when the sheet does, and not with every word of a rule.
type judgement struct {
	Findings []schema.Finding
	Points   []checklist.Point
	Next     string
}

// openEntries is how many entries of the car's record were written when its
// first pump was in and too small.
const openEntries = 44

// assessed is the car as it was released, or before that.
func assessed(t testing.TB, state string) checklist.Assessment {
	t.Helper()
	r := record(t, filepath.Join(kestrel, "vehicle.json"))
	if state == "open" {
		r.Entries = r.Entries[:openEntries]
	}
	facts := schema.Shop{Record: record(t, filepath.Join(kestrel, "shop.json")), Gauge: lookUp(t, "gauges"), Part: lookUp(t, "parts")}
	a := checklist.Assess(r, facts, moment)
	path := filepath.Join("testdata", state+".json")
	if *update {
		text, err := json.MarshalIndent(judgement{a.Findings, a.Points, a.Next}, "", " ")
		if err != nil {
			t.Fatal(err)
		}
		write(t, path, string(text)+"\n")
	}
	var kept judgement
	if err := json.Unmarshal([]byte(read(t, path)), &kept); err != nil {
		t.Fatal(err)
	}
	a.Findings, a.Points, a.Next = kept.Findings, kept.Points, kept.Next
	return a
}

func record(t testing.TB, path string) schema.Record {
	t.Helper()
	r, err := schema.DecodeRecord([]byte(read(t, path)))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func lookUp(t testing.TB, folder string) func(string) (schema.Record, bool) {
	return func(id string) (schema.Record, bool) {
		path := filepath.Join(kestrel, folder, id+".json")
		if _, err := os.Stat(path); err != nil {
			return schema.Record{}, false
		}
		return record(t, path), true
	}
}

func read(t testing.TB, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func write(t testing.TB, path, text string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// sheets are all there are, in both systems of units, of a car that may leave
// and of one that may not; one in German.
func sheets(t testing.TB) map[string]*Document {
	out := map[string]*Document{}
	for _, state := range []string{"released", "open"} {
		a := assessed(t, state)
		for _, system := range []string{Metric, US} {
			s := Style{System: system, Origin: origin}
			out["customer."+state+"."+system] = Customer(a, s)
			out["lead."+state+"."+system] = Lead(a, s)
			out["auditor."+state+"."+system] = Auditor(a, s)
			out["job."+state+"."+system] = Job(a, "12", s)
		}
		out["customer."+state+".de"] = Customer(a, Style{System: Metric, Language: "de", Origin: origin})
	}
	return out
}

// Every sheet, as it was looked at.
func TestGolden(t *testing.T) {
	for name, d := range sheets(t) {
		page, err := d.HTML()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for ext, got := range map[string]string{".md": d.Markdown(), ".html": string(page)} {
			path := filepath.Join("testdata", "golden", name+ext)
			if *update {
				write(t, path, got)
			}
			if diff := cmp.Diff(read(t, path), got); diff != "" {
				t.Errorf("%s (-update writes it anew)\n%s", path, diff)
			}
		}
	}
}

// A sheet says that it proves nothing about law, whatever the car's state, and
// carries what it can be held against.
func TestEverySheetDefersAndCanBeVerified(t *testing.T) {
	for name, d := range sheets(t) {
		text := d.Markdown()
		for _, want := range []string{d.say("sheet.defer"), "--code "} {
			if !strings.Contains(text, want) {
				t.Errorf("%s lacks %q", name, want)
			}
		}
	}
}

// A sheet of one system of units holds the numbers of the other, each the same:
// only their order differs.
func TestSystemsHoldTheSameNumbers(t *testing.T) {
	number := regexp.MustCompile(`[0-9]+(\.[0-9]+)?`)
	all := sheets(t)
	for _, name := range []string{"customer.released", "lead.released", "auditor.open"} {
		metric, us := withoutCharts(all[name+"."+Metric].Markdown()), withoutCharts(all[name+"."+US].Markdown())
		if metric == us {
			t.Errorf("%s: both systems write the same", name)
		}
		count := func(text string) map[string]int {
			out := map[string]int{}
			for _, n := range number.FindAllString(text, -1) {
				out[n]++
			}
			return out
		}
		if diff := cmp.Diff(count(metric), count(us)); diff != "" {
			t.Errorf("%s: other numbers\n%s", name, diff)
		}
	}
}

var fenced = regexp.MustCompile("(?s)```text.*?```")

func withoutCharts(text string) string { return fenced.ReplaceAllString(text, "") }

// Units are swapped as a whole or not at all.
func TestInSystem(t *testing.T) {
	for _, c := range []struct{ system, text, want string }{
		{US, "3.00 bar (43.5 psi)", "43.5 psi (3.00 bar)"},
		{Metric, "43.5 psi (3.00 bar)", "3.00 bar (43.5 psi)"},
		{Metric, "3.00 bar (43.5 psi)", "3.00 bar (43.5 psi)"},
		{US, "221.3 kPa abs (32.1 psi abs) now", "32.1 psi abs (221.3 kPa abs) now"},
		{US, "0.5 V (two)", "0.5 V (two)"},
		{US, "20.0 inHg vacuum (0.677 bar vacuum)", "20.0 inHg vacuum (0.677 bar vacuum)"},
		{US, "6 kg (2 of them)", "6 kg (2 of them)"},
		{"", "43.5 psi (3.00 bar)", "43.5 psi (3.00 bar)"},
	} {
		if got := (&Document{system: c.system}).inSystem(c.text); got != c.want {
			t.Errorf("%s: %q, want %q", c.text, got, c.want)
		}
	}
}

// What people type is text: through Markdown and HTML it comes out as it went
// in, up to blanks, and nothing of it is markup. CommonMark by goldmark.
func TestWhatPeopleTypeStaysText(t *testing.T) {
	check := func(t interface{ Fatalf(string, ...any) }, typed string) {
		for _, in := range []func(*Document){
			func(d *Document) { d.line(plain(typed)) },
			func(d *Document) { d.list([]string{typed}) },
			func(d *Document) { d.table([]string{"a", "b"}, [][]string{{typed, "x"}}, "") },
		} {
			d := newDocument(Style{})
			in(d)
			page, err := d.HTML()
			if err != nil {
				t.Fatalf("%q: %v", typed, err)
			}
			body := string(page[strings.Index(string(page), "<main>"):])
			if tag := strange.FindString(body); tag != "" {
				t.Fatalf("%q: became markup: %s in %s", typed, tag, body)
			}
			got := strings.Join(strings.Fields(html.UnescapeString(tags.ReplaceAllString(body, " "))), "")
			if want := strings.Join(strings.Fields(typed), ""); !strings.Contains(got, want) {
				t.Fatalf("%q: came out as %q", typed, got)
			}
		}
	}
	for _, typed := range []string{
		"<script>alert(1)</script>", "**bold** _it_ `code`", "[a](http://x.org) ![b](c)", "| a | b |", "# head", "- item", "1. item", "12) item", "---", "===",
		"&lt; &amp; &#60;", "a\\b", "\\", "~~gone~~", "http://example.org www.example.org a@b.org mailto:a@b", "> quote", "+ x", "1.58 bar", ":warning:", "$x$", "<!-- c -->", "<b", "]]>",
	} {
		check(t, typed)
	}
	rapid.Check(t, func(t *rapid.T) {
		check(t, rapid.StringMatching(`[a-z0-9 <>&*_\[\]()\\|#+=.:~$!-]{1,24}`).Filter(func(s string) bool { return strings.TrimSpace(s) != "" }).Draw(t, "typed"))
	})
}

var (
	tags    = regexp.MustCompile(`</?(main|body|html|p|ul|li|table|thead|tbody|tr|th|td)>`)
	strange = regexp.MustCompile(`<(script|strong|em|a|img|h[1-6]|code|pre|blockquote|hr|del|ol|br|b)\b`)
)

// A code names one state: another entry, one less, or another order is another.
func TestCode(t *testing.T) {
	entries := record(t, filepath.Join(kestrel, "vehicle.json")).Entries
	seen := map[string]int{}
	for n := 1; n <= len(entries); n++ {
		code := Code(entries[:n])
		if before, twice := seen[code]; twice || len(code) != 19 {
			t.Fatalf("code %q of %d entries, and of %d", code, n, before)
		}
		seen[code] = n
	}
	if len(seen) < openEntries {
		t.Fatalf("only %d entries", len(seen))
	}
}
