package sheets

import (
	"fmt"

	"feedproof/checklist"
	"feedproof/schema"
)

// boxesOnASheet is how many things a job sheet asks for: what fits one page
// with boxes that gloves can write in.
const boxesOnASheet = 12

// Job is the sheet for the windscreen: the next boxes with their limits, to be
// filled in by hand and typed in later.
func Job(a checklist.Assessment, number string, s Style) *Document {
	d := newDocument(s)
	c := a.Car
	d.identity(c, "sheet.job")
	state := "● " + d.say("fuel.closed")
	switch band, why := a.Standing.Band(); band {
	case checklist.BandStop:
		state = "■ " + d.say("fuel.stop", plain(why))
	case checklist.BandOpen:
		state = "▲ " + d.say("fuel.open")
	}
	d.apart("care", "**"+state+"**, "+plain(d.say("sheet.job.as.of", s.Origin.Printed.UTC().Format("2006-01-02 15:04 UTC")))+" "+plain(joined("; ", checklist.HandOver(a).Physical...))+"\n\n")
	var rows [][]string
	for _, t := range checklist.Tasks(a) {
		if len(rows) == boxesOnASheet {
			break
		}
		switch t.Do {
		case checklist.DoRead, checklist.DoStep, checklist.DoProve:
			what, limit := d.box(a, t)
			rows = append(rows, []string{fmt.Sprint(len(rows) + 1), what, limit, "", "", ""})
		}
	}
	d.apart("boxes", d.tableText([]string{"", d.say("sheet.what"), d.say("sheet.limit"), d.say("sheet.box"), d.say("sheet.meter"), d.say("sheet.initials")}, rows, d.say("all.done")))
	d.apart("foot", d.say("sheet.job.number", plain(number))+" "+d.say("sheet.job.back", "`"+fmt.Sprintf("feedproof work %s --from-paper %s", quoted(c.Vehicle.Name), number)+"`")+"\n\n"+
		d.say("sheet.foot.code", "`"+Code(c.Written())+"`", "`"+fmt.Sprintf("feedproof verify %s --code %s", quoted(c.Vehicle.Name), Code(c.Written()))+"`")+"\n\n"+d.say("sheet.defer")+"\n\n")
	return d
}

// box is what one line of the job sheet asks for, and its limit.
func (d *Document) box(a checklist.Assessment, t checklist.Task) (what, limit string) {
	book := a.Car.Book
	switch t.Do {
	case checklist.DoRead:
		test, _ := schema.FindReading(t.ID)
		limit, _ = limitOf(a, t.ID)
		if step, ok := book.Step(t.Step); ok && limit == "" {
			limit = step.Accept
		}
		return joined(" ", t.Point, test.Name+": "+test.Title+" ("+valuesOf(test)+")"), limit
	case checklist.DoProve:
		k, _ := book.Caution(t.ID)
		return k.ID + " " + k.Hazard, k.Proof
	}
	step, _ := book.Step(t.ID)
	return joined(" ", t.Point, step.ID+": "+step.Text), step.Accept
}

func valuesOf(t schema.Reading) string {
	out := ""
	for _, v := range t.Values {
		if v.Optional {
			continue
		}
		out = joined(", ", out, v.Name)
	}
	return out
}
