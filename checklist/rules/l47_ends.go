package rules

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"feedproof/checklist/fittings"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "L47", Title: "ends that meet",
	What: "Every joint that was written down with the part that went in, by the ends of both parts: seat, gender, size, thread and what seals. An end that joins nothing and is not plugged. " +
		"What is not known is said once, for all places: a part whose ends nobody typed, a joint that nobody named. A shop that types no ends has a note that nothing shows which ends meet.",
	Formula: "two ends fit if each names the other in the table of ends, the sizes are equal (hose and stem within 0.5 mm), and what seals is there. Threads start in each other by hand with diameters within 6.5 % and pitches within 20 %",
	Limits:  "fits: OK; nothing joins them, or a hose that does not fit its stem: HOLD; goes together and does not seal, or an open end: BLOCK; ends not known: UNPROVEN",
	Source:  "SAE J514, J512, J1926, J1453, ISO 6149, ISO 228-1, ISO 7-1, ASME B1.20.1 and J2044 by secondary sources, each pair with its own; none of the standards was read",
	Means:   "A thread that engages is no seal: it weeps when it is hot, or tears out under pressure.",
	Next:    "The right part or an adapter. Stop at two turns by hand; check both with a thread gauge.",
	Words: Words{
		code.Unfit:   {"{why}", "{do}"},
		code.Absent:  {"an end of a fitted part is open", "a plug of its kind, or write down what it joins: feedproof fit CAR POSITION PART --join {end}=.."},
		code.Unknown: {"nothing shows which ends meet there", "feedproof part receive ID --end in=flare37-m:-8 .., then feedproof fit CAR POSITION ID --join in=\"rail.in\""},
		code.Assumed: {"nobody wrote down which ends meet: nothing shows that they fit", "type the ends of parts as they come: feedproof part receive ID --end in=flare37-m:-8"},
	},
	Judge: inVisit(judgeEnds),
})

// joined is an end of a fitted part on another.
type joined struct {
	position, name string
	end            fittings.End
	part           *schema.PartData
	join           schema.Join
	entry          schema.Entry
	other          fittings.End
	otherPart      *schema.PartData
	otherEntry     schema.Entry
	known          bool // both ends
}

func (j joined) about() string {
	return j.position + " " + j.name + " on " + j.join.Position + " " + j.join.Of
}

// joints are those that fittings wrote down, by position.
func joints(c *state.Car) []joined {
	var out []joined
	for _, position := range slices.Sorted(maps.Keys(c.Fitted)) {
		f := c.Fitted[position]
		for _, join := range f.Data.Joins {
			if join.Position == "" {
				continue
			}
			other := c.Fitted[join.Position]
			a, ok1 := endOf(f.Part, join.End)
			b, ok2 := endOf(other.Part, join.Of)
			out = append(out, joined{position, join.End, a, f.Part, join, f.Entry, b, other.Part, other.Entry, ok1 && ok2})
		}
	}
	return out
}

func endOf(p *schema.PartData, name string) (fittings.End, bool) {
	if p == nil {
		return fittings.End{}, false
	}
	i := slices.IndexFunc(p.Ends, func(e schema.PartEnd) bool { return e.Name == name })
	if i < 0 {
		return fittings.End{}, false
	}
	e, err := fittings.Parse(p.Ends[i].End)
	return e, err == nil
}

func judgeEnds(c *state.Car) []schema.Finding {
	if len(c.Fitted) == 0 {
		return nil
	}
	if !typesEnds(c) {
		return []schema.Finding{{Rule: "L47", Subject: "ends", About: "ends that meet", Severity: schema.Note, Code: code.Assumed, Measured: NotYet, Limit: "each joint by its ends"}}
	}
	var found []schema.Finding
	var unknown []string
	for _, j := range joints(c) {
		if !j.known {
			unknown = append(unknown, j.about())
			continue
		}
		found = append(found, mated(j)...)
	}
	open, untyped := loose(c)
	found = append(found, open...)
	if unknown = append(unknown, untyped...); len(unknown) > 0 {
		const shown = 4
		text := strings.Join(unknown[:min(shown, len(unknown))], ", ")
		if more := len(unknown) - shown; more > 0 {
			text += fmt.Sprintf(" and %d more", more)
		}
		found = append(found, schema.Finding{
			Rule: "L47", Subject: "ends", About: "ends that meet", Severity: schema.Unproven, Code: code.Unknown, Values: []schema.Amount{howMany("unknown", len(unknown))}, Measured: "not known: " + text, Limit: "each joint by its ends",
		})
	}
	return found
}

// typesEnds reports that ends or joints of this car were typed.
func typesEnds(c *state.Car) bool {
	for _, f := range c.Fitted {
		if len(f.Data.Joins) > 0 || f.Part != nil && len(f.Part.Ends) > 0 {
			return true
		}
	}
	return false
}

func mated(j joined) []schema.Finding {
	m := fittings.Mate(j.end, j.other)
	f := schema.Finding{
		Rule: "L47", Subject: j.about(), About: j.about(), Measured: j.end.String() + " on " + j.other.String(), Limit: "two ends that are made for each other", Entries: ids(j.entry, j.otherEntry),
	}
	switch {
	case m.Verdict == fittings.Fits:
		return []schema.Finding{f}
	case m.Rule == "FT09" || m.Rule == "FT27":
		f.Severity = schema.Hold
	default:
		f.Severity = schema.Block
	}
	f.Code, f.Values = code.Unfit, []schema.Amount{called("why", m.Why), called("do", m.Do)}
	return []schema.Finding{f}
}

// loose are the ends that nothing joins, and the places of which no ends are
// known. Electrical ends are not asked.
func loose(c *state.Car) (open []schema.Finding, untyped []string) {
	taken := map[string]bool{}
	for _, position := range slices.Sorted(maps.Keys(c.Fitted)) {
		for _, j := range c.Fitted[position].Data.Joins {
			taken[position+"."+j.End] = true
			taken[j.Position+"."+j.Of] = true
		}
	}
	for _, position := range slices.Sorted(maps.Keys(c.Fitted)) {
		f := c.Fitted[position]
		switch {
		case isDry(position, f.Part):
		case f.Part == nil || len(f.Part.Ends) == 0:
			untyped = append(untyped, position)
		default:
			for _, e := range f.Part.Ends {
				end, err := fittings.Parse(e.End)
				if taken[position+"."+e.Name] || err == nil && end.Electrical() {
					continue
				}
				open = append(open, schema.Finding{
					Rule: "L47", Subject: "open " + position + " " + e.Name, About: "open end, " + position, Severity: schema.Block, Code: code.Absent, Values: []schema.Amount{called("end", e.Name)},
					Measured: e.Name + ", " + e.End + ", joins nothing", Limit: "joined or plugged", Entries: ids(f.Entry),
				})
			}
		}
	}
	return open, untyped
}

func isDry(position string, p *schema.PartData) bool {
	return position == "wiring" || p != nil && slices.Contains(dryParts, p.Part)
}

// boreOf is the smallest bore of a part; 0 where nobody typed one.
func boreOf(p *schema.PartData) quantity.Length {
	if p == nil {
		return 0
	}
	least := quantity.Length(0)
	narrower := func(q schema.Q[quantity.Length]) {
		if b, err := q.SI(); err == nil && b > 0 && (least == 0 || b < least) {
			least = b
		}
	}
	for _, e := range p.Ends {
		narrower(e.Bore)
	}
	if p.Hose != nil {
		narrower(p.Hose.Bore)
	}
	return least
}
