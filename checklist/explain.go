package checklist

import (
	"fmt"
	"strings"

	"feedproof/checklist/procedures"
	"feedproof/checklist/rules"
	"feedproof/schema"
)

// Page names a page of the manual.
type Page struct {
	ID    string `json:"id"`
	Title string `json:"title"`
	Kind  string `json:"kind"` // rule, caution, hold point, step, test, fault, unit
}

// Pages lists every page there is.
func Pages() []Page {
	var out []Page
	for _, r := range rules.All() {
		out = append(out, Page{r.ID, r.Title, "rule"})
	}
	book, _ := procedures.Load()
	for _, c := range book.Cautions {
		if _, judged := rules.Find(c.ID); !judged {
			out = append(out, Page{c.ID, c.Hazard, "caution"})
		}
	}
	for _, p := range book.Points {
		out = append(out, Page{p.ID, p.Name, "hold point"})
	}
	for _, s := range book.All() {
		out = append(out, Page{s.ID, s.Text, "step"})
	}
	for _, t := range schema.Readings {
		out = append(out, Page{t.Name, t.Title, "test"})
	}
	for _, f := range book.Faults {
		out = append(out, Page{f.ID, f.Symptom, "fault"})
	}
	return append(out, unitPages(out)...)
}

// Explain is the page behind an id, as Markdown.
func Explain(id string) (string, bool) {
	book, _ := procedures.Load()
	if r, ok := rules.Find(id); ok {
		page := r.Page()
		if c, ok := book.Caution(id); ok {
			page += "\n" + cautionPage(c)
		}
		return page, true
	}
	if c, ok := book.Caution(id); ok {
		return cautionPage(c), true
	}
	if p, ok := book.Point(id); ok {
		return pointPage(p), true
	}
	if s, ok := book.Step(id); ok {
		return stepPage(s), true
	}
	if t, ok := schema.FindReading(id); ok {
		return testPage(t), true
	}
	if f, ok := book.Fault(id); ok {
		return faultPage(f), true
	}
	return explainUnit(id)
}

func cautionPage(c procedures.Caution) string {
	waive := "Nobody can waive it."
	if c.Waive != "" {
		waive = "Waived by: " + c.Waive + "."
	}
	return fmt.Sprintf("# %s: %s\n\n%s\n\n- Proof: %s\n- Lasts: %s\n- %s\n- Where it comes from: %s\n", c.ID, c.Hazard, c.Do, c.Proof, orDash(c.Lasts), waive, c.Source)
}

func pointPage(p procedures.Point) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# %s: %s\n\nIt locks this act: %s.\n\n- Closed by: %s%s\n", p.ID, p.Name, p.Before, p.Who, map[bool]string{true: ", and a second person"}[p.Two])
	if p.Alone {
		fmt.Fprintf(&b, "- Where nobody else works on cars the same person makes the second leak test %.0f h or more after the first, with the first sheet out of sight; the closing then says \"%s\". Shop policy\n", secondCheckAfter.Hours(), SamePersonDelayed)
	}
	for _, list := range []struct {
		head  string
		items []string
	}{{"Rules that must be satisfied", p.Rules}, {"Readings it needs", p.Tests}, {"Re-opened by a change of", p.Reopens}} {
		if len(list.items) > 0 {
			fmt.Fprintf(&b, "- %s: %s\n", list.head, strings.Join(list.items, ", "))
		}
	}
	if p.NeverLate {
		b.WriteString("- It can never be closed afterwards: the evidence is gone.\n")
	}
	fmt.Fprintf(&b, "- Where it comes from: %s\n", p.Source)
	return b.String()
}

func stepPage(s procedures.Step) string {
	return fmt.Sprintf("# Step %s\n\n%s\n\n- Record: %s\n- Who: %s\n- Opens: %s\n- Hold point that waits for it: %s\n- Where it comes from: %s\n",
		s.ID, s.Text, orDash(s.Accept), s.Who, orDash(string(s.Opens)), orDash(s.Point), s.Source)
}

func testPage(t schema.Reading) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# Reading: %s\n\n%s\n\n", t.Name, t.Title)
	for _, v := range t.Values {
		fmt.Fprintf(&b, "- %s: %s\n", v.Name, v.Describe())
	}
	return b.String()
}

func faultPage(f procedures.Fault) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# %s: %s\n\nLikely causes, the likeliest first:\n\n", f.ID, f.Symptom)
	for i, c := range f.Causes {
		fmt.Fprintf(&b, "%d. %s%s\n", i+1, c.Text, signs(" (shown by ", c.Shown, ")"))
	}
	fmt.Fprintf(&b, "\n- Next check: %s\n", f.Next)
	if len(f.Shows) == 0 {
		b.WriteString("- Nothing that is recorded shows it: it is seen, heard or smelled\n")
	} else {
		fmt.Fprintf(&b, "- Looked for in: %s%s%s\n", signs("", f.Shows, ""), signs("; with ", f.Also, ""), signs("; without ", f.Without, ""))
	}
	fmt.Fprintf(&b, "- Where it comes from: %s\n", f.Source)
	return b.String()
}

func signs(before string, list []procedures.Sign, after string) string {
	if len(list) == 0 {
		return ""
	}
	var out []string
	for _, s := range list {
		out = append(out, string(s))
	}
	return before + strings.Join(out, ", ") + after
}

func orDash(s string) string {
	if s == "" {
		return "-"
	}
	return s
}
