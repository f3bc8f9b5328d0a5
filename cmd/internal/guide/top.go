package guide

import (
	"strings"

	"feedproof/checklist"
	"feedproof/cmd/internal/facts"
	"feedproof/schema"
)

const shownOfVIN = 6

// top is over every page: which car, where, who, when.
func (w *Work) top() []Line {
	c := w.at.Car
	car := joined("  ", first(c.Plate, c.Name), vinEnd(c.VIN), both(c.Name, c.Plate), c.Words)
	where := joined("  ", w.say("bay", first(w.at.Bay, "-")), joined(" ", w.at.Who.ID, w.at.Who.Name), w.now().Format("Mon 2 Jan 15:04"))
	if w.paper != "" {
		where += "  " + w.say("paper", w.paper)
	}
	lines := []Line{
		{Spans: []Span{{Text: " " + car, Tone: Strong}}, Hang: 1},
		Text(" " + where),
	}
	if w.at.ClockBehind {
		lines = append(lines, Toned(" ▲ "+w.say("clock")+" ", Careful))
	}
	return lines
}

// fuel is the state that everybody must see from across the bay, with the next
// hold point and what is not answered.
func (w *Work) fuel() Line {
	tone, text := Good, "● "+w.say("fuel.closed")
	switch band, why := w.at.Assessment.Standing.Band(); band {
	case checklist.BandStop:
		tone, text = Bad, "■ "+w.say("fuel.stop", why)
	case checklist.BandOpen:
		tone, text = Careful, "▲ "+w.say("fuel.open")
	}
	counts := w.say("counts", w.at.Red, w.at.Amber)
	if w.at.Held {
		counts = "■ " + w.say("held") + "   " + counts
	}
	return Line{Bar: tone, Spans: []Span{
		{Text: " "}, {Text: text, Wide: true}, {Text: "    " + joined("    ", w.say("next.point", first(w.at.Point, "-")), counts) + " "},
	}}
}

func vinEnd(vin string) string {
	if len(vin) > shownOfVIN {
		return "…" + vin[len(vin)-shownOfVIN:]
	}
	return vin
}

// both is the name when the plate stands before it.
func both(name, plate string) string {
	if plate == "" {
		return ""
	}
	return name
}

func first(texts ...string) string {
	for _, t := range texts {
		if t != "" {
			return t
		}
	}
	return ""
}

func joined(gap string, texts ...string) string {
	var out []string
	for _, t := range texts {
		if t != "" {
			out = append(out, t)
		}
	}
	return strings.Join(out, gap)
}

// finding is a finding in plain words: what it means on the floor, what was
// measured beside its limit, what to do next.
func (w *Work) finding(f schema.Finding) []Line {
	head := Line{Spans: []Span{
		{Text: " " + facts.Shape(f.Severity) + " " + w.say("severity."+f.Severity.String()) + " ", Tone: ToneOf(f.Severity)},
		{Text: "  " + f.About + ": " + f.Measured},
	}, Hang: 5}
	if f.Limit != "" {
		head.Spans = append(head.Spans, Span{Text: " (" + w.say("limit", f.Limit) + ")"})
	}
	lines := []Line{head}
	if f.Severity > schema.Note && f.Answered == "" {
		lines = append(lines, Line{Spans: []Span{{Text: "     " + f.Means + ". "}, {Text: w.say("next", w.plainly(f.Next)), Tone: Strong}}, Hang: 5})
	}
	return lines
}

// plainly takes the command out of what is to be done next: here it is a key.
func (w *Work) plainly(next string) string {
	text, _, cut := strings.Cut(next, ": feedproof ")
	if strings.HasPrefix(text, "feedproof ") {
		return w.say("key.record")
	}
	if cut {
		return text
	}
	return next
}
