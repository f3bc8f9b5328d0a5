package sheets

import (
	"fmt"
	"strings"

	"feedproof/checklist"
	"feedproof/checklist/state"
	"feedproof/cmd/internal/facts"
	"feedproof/schema"
)

// Auditor is the sheet for somebody who was not there: identity and integrity
// first, then who did what with which instrument, what was answered and why,
// what came late or was taken back, and the readings through the years.
func Auditor(a checklist.Assessment, s Style) *Document {
	d := newDocument(s)
	c := a.Car
	d.identity(c, "sheet.auditor")
	d.pull(s)
	d.foot(a, s.Origin)
	d.release(a)
	d.who(c)
	d.points(a)
	d.numbers(a)
	d.answers(c)
	d.doubtful(c)
	d.logs(c)
	ch, ok := yearsChart(c)
	d.chart(ch, ok)
	return d
}

// who counts what each person wrote in the visit, with their roles.
func (d *Document) who(c *state.Car) {
	kinds := map[string]map[string]int{}
	var order []string
	for _, e := range c.Written() {
		if !c.InVisit(e) {
			continue
		}
		if kinds[e.By] == nil {
			kinds[e.By] = map[string]int{}
			order = append(order, e.By)
		}
		kinds[e.By][e.Kind]++
	}
	var rows [][]string
	for _, by := range order {
		rows = append(rows, []string{person(c, by), rolesOf(c, by), counted(kinds[by])})
	}
	d.head(2, d.say("sheet.who"))
	d.table([]string{d.say("sheet.person"), d.say("sheet.roles"), d.say("sheet.wrote")}, rows, d.say("sheet.none.entries"))
}

func rolesOf(c *state.Car, id string) string {
	p, _ := c.Person(id)
	out := make([]string, len(p.Roles))
	for i, r := range p.Roles {
		out[i] = string(r)
	}
	return strings.Join(out, ", ")
}

func counted(kinds map[string]int) string {
	var out []string
	for _, data := range schema.Kinds(schema.VehicleRecord) {
		if kind := data.EntryKind(); kinds[kind] > 0 {
			out = append(out, fmt.Sprintf("%s %d", kind, kinds[kind]))
		}
	}
	return strings.Join(out, ", ")
}

// lateBy is how long after the moment it tells of an entry counts as late.
const lateBy = 60 // minutes

// doubtful lists what came late, from paper, or was taken back.
func (d *Document) doubtful(c *state.Car) {
	var rows [][]string
	add := func(e schema.Entry, what string) {
		rows = append(rows, []string{fmt.Sprintf("#%d", e.Counter), what, facts.Fact(e), e.By, stamp(e.At), stamp(e.Entered)})
	}
	for _, e := range c.Written() {
		if !c.InVisit(e) {
			continue
		}
		switch {
		case c.TakenBack(e):
			add(e, d.say("sheet.takenback"))
		case e.Kind == "correct":
			add(e, d.say("sheet.correction"))
		case e.Entered.Sub(e.At).Minutes() > lateBy:
			add(e, d.say("sheet.late"))
		}
	}
	d.head(2, d.say("sheet.doubtful"))
	d.table([]string{"", "", d.say("sheet.what"), d.say("sheet.by"), d.say("sheet.at"), d.say("sheet.entered")}, rows, d.say("sheet.none.doubtful"))
}

// logs lists the datalogs with the hash of their files.
func (d *Document) logs(c *state.Car) {
	var rows [][]string
	for _, l := range c.Logs {
		if c.InVisit(l.Entry) {
			rows = append(rows, []string{l.Data.File, l.Data.Run, l.Data.SHA256, l.Entry.By, stamp(l.Entry.At)})
		}
	}
	if len(rows) > 0 {
		d.head(2, d.say("sheet.logs"))
		d.table([]string{d.say("sheet.file"), "", "SHA-256", d.say("sheet.by"), d.say("sheet.at")}, rows, "")
	}
}
