// Package sheets makes the sheets that leave the shop floor: the customer's,
// the lead's, the auditor's and the job sheet for the windscreen. Each is one
// document, as Markdown, as text for a terminal and as one self-contained HTML
// file with its charts, for one or two sheets of A4 or Letter.
//
// Start with [Customer], [Lead], [Auditor] or [Job] and write the [Document]
// out. What people wrote into the record is always text, never markup. It is
// pure. What is deliberately absent: judgement, and any word about what is
// legal.
package sheets

import (
	"fmt"
	"regexp"
	"strings"
	"time"

	"feedproof/cmd/internal/facts/chart"
	"feedproof/cmd/internal/language"
	"feedproof/cmd/internal/visible"
)

// Document is a sheet.
type Document struct {
	Title  string
	Blocks []Block
	words  language.Words
	system string
}

// Block is a piece of a document: text as Markdown, or a chart.
type Block struct {
	Markdown string
	Chart    *chart.Chart
	Class    string // of the piece in HTML
}

// Style is how a sheet is written.
type Style struct {
	System   string // of units that come first: Metric or US
	Language string // of the headings
	Origin   Origin
	Pull     *chart.Chart // the worst pull of the last log; nil: not drawn
}

// Systems of units.
const (
	Metric = "metric"
	US     = "us"
)

// Origin is where a sheet was printed from, and when.
type Origin struct {
	Printed time.Time
	Device  string
	Head    string // the commit that the record stood at
	Draft   int    // entries not in it yet
	Key     string // fingerprint of the first key of the shop
}

func newDocument(s Style) *Document {
	return &Document{words: language.In(s.Language), system: s.System}
}

func (d *Document) say(key string, args ...any) string { return d.words.Say(key, args...) }

// add writes Markdown into the last piece of text.
func (d *Document) add(text string) {
	if n := len(d.Blocks); n == 0 || d.Blocks[n-1].Chart != nil || d.Blocks[n-1].Class != "" {
		d.Blocks = append(d.Blocks, Block{})
	}
	d.Blocks[len(d.Blocks)-1].Markdown += d.inSystem(text)
}

// apart is a piece of text of its own, with a class for HTML.
func (d *Document) apart(class, text string) {
	d.Blocks = append(d.Blocks, Block{Markdown: d.inSystem(text), Class: class})
}

// chart adds a drawing, its words in the document's system of units.
func (d *Document) chart(c chart.Chart, ok bool) {
	if !ok {
		return
	}
	c.About = d.inSystem(c.About)
	for i := range c.Notes {
		c.Notes[i] = d.inSystem(c.Notes[i])
	}
	for i := range c.Windows {
		c.Windows[i].Name = d.inSystem(c.Windows[i].Name)
	}
	for _, p := range c.Panels {
		for i := range p.Bands {
			p.Bands[i].Name = d.inSystem(p.Bands[i].Name)
		}
		for i := range p.Limits {
			p.Limits[i].Name = d.inSystem(p.Limits[i].Name)
		}
	}
	d.Blocks = append(d.Blocks, Block{Chart: &c})
}

// pull adds the worst pull of the last log when it is wanted.
func (d *Document) pull(s Style) {
	if s.Pull != nil {
		d.chart(*s.Pull, true)
	}
}

func (d *Document) head(level int, text string) {
	d.add(strings.Repeat("#", level) + " " + plain(text) + "\n\n")
}

func (d *Document) line(text string) {
	if text != "" {
		d.add(text + "\n\n")
	}
}

func (d *Document) list(items []string) {
	text := ""
	for _, it := range items {
		text += "- " + plain(it) + "\n"
	}
	d.line(strings.TrimRight(text, "\n"))
}

// table writes rows under a header; without rows it says so.
func (d *Document) table(header []string, rows [][]string, none string) {
	d.add(d.tableText(header, rows, none))
}

func (d *Document) tableText(header []string, rows [][]string, none string) string {
	if len(rows) == 0 {
		if none == "" {
			return ""
		}
		return plain(none) + "\n\n"
	}
	var b strings.Builder
	for i, row := range append([][]string{header}, rows...) {
		cells := make([]string, len(row))
		for j, c := range row {
			cells[j] = plain(c)
		}
		fmt.Fprintf(&b, "| %s |\n", strings.Join(cells, " | "))
		if i == 0 {
			b.WriteString("|" + strings.Repeat(" --- |", len(header)) + "\n")
		}
	}
	return b.String() + "\n"
}

var (
	// special are the characters that steer Markdown in any place of a line.
	special = strings.NewReplacer("\\", "\\\\", "`", "\\`", "*", "\\*", "_", "\\_", "[", "\\[", "]", "\\]", "<", "\\<", ">", "\\>",
		"|", "\\|", "~", "\\~", "&", "\\&", "$", "\\$", "\n", " ", "\r", " ", "\t", " ")
	// links are what some readers of Markdown turn into links by themselves.
	links = regexp.MustCompile(`(?i)(://)|(www)\.|(@)|(:)([a-z0-9_+-]+:)`)
	// starts are what makes a line a heading, a list or a rule.
	starts = regexp.MustCompile(`^(#{1,6}|[-+]|\d+[.)])(\s|$)|^[-=]+$`)
)

// plain is text that stands as it was written, whatever is in it.
func plain(text string) string {
	text = strings.Join(strings.Fields(special.Replace(text)), " ")
	text = links.ReplaceAllStringFunc(text, func(m string) string {
		switch {
		case strings.HasPrefix(m, ":"):
			return "\\" + m
		case m == "@":
			return "\\@"
		}
		return m[:len(m)-1] + "\\."
	})
	if at := starts.FindStringIndex(text); at != nil {
		mark := strings.IndexFunc(text, func(r rune) bool { return r < '0' || r > '9' })
		text = text[:mark] + "\\" + text[mark:]
	}
	return text
}

// pairs are a quantity in one system of units with its twin in the other.
var pairs = regexp.MustCompile(`(-?[0-9][0-9.]* (?:[A-Za-z/]+)(?: abs| gauge| vacuum)?) \((-?[0-9][0-9.]* (?:[A-Za-z/.]+)(?: abs| gauge| vacuum)?)\)`)

// systemOf tells which system of units a quantity is written in.
var systemOf = map[string]string{
	"bar": Metric, "kPa": Metric, "mbar": Metric, "L/h": Metric, "kW": Metric, "kg/h": Metric, "km": Metric, "m": Metric, "mm": Metric,
	"psi": US, "inHg": US, "gph": US, "hp": US, "lb/h": US, "mi": US, "ft": US, "in": US,
}

// inSystem puts the quantity of the document's system of units first, and its
// twin behind it. No number is computed anew.
func (d *Document) inSystem(text string) string {
	if d.system == "" {
		return text
	}
	return pairs.ReplaceAllStringFunc(text, func(m string) string {
		p := pairs.FindStringSubmatch(m)
		one, two := systemOf[unitOf(p[1])], systemOf[unitOf(p[2])]
		if two == d.system && one != "" && one != two {
			return p[2] + " (" + p[1] + ")"
		}
		return m
	})
}

func unitOf(quantity string) string {
	words := strings.Fields(quantity)
	return words[1]
}

// textColumns is how wide a chart is in text.
const textColumns = 72

// Markdown is the document as CommonMark with tables; charts are drawn in text.
func (d *Document) Markdown() string {
	var b strings.Builder
	for _, block := range d.Blocks {
		b.WriteString(block.Markdown)
		if block.Chart != nil {
			b.WriteString("```text\n" + strings.Join(block.Chart.Text(textColumns), "\n") + "\n```\n\n")
		}
	}
	return visible.Text(strings.TrimRight(b.String(), "\n") + "\n")
}
