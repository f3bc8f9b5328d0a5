package checklist

import (
	"slices"

	"feedproof/checklist/procedures"
	"feedproof/checklist/rules"
	"feedproof/checklist/state"
	"feedproof/schema"
)

// Rests lists the entries that a hold point would rest on if it were closed
// now, in order: the readings that it and its steps ask for and that still
// count, what its rules judged, and its steps.
func Rests(a Assessment, point string) []string {
	p, ok := a.Car.Book.Point(point)
	if !ok {
		return nil
	}
	asked, cited := slices.Clone(p.Tests), []string{}
	for _, s := range a.Steps {
		if s.Point == p.ID && s.Test != "" {
			asked = append(asked, s.Test)
		}
	}
	for _, f := range a.Findings {
		if slices.Contains(p.Rules, f.Rule) {
			cited = append(cited, f.Entries...)
		}
	}
	var out []string
	for _, e := range a.Car.Standing() {
		if a.Car.InVisit(e) && (slices.Contains(cited, e.ID) || restsOn(a, p, asked, e)) {
			out = append(out, e.ID)
		}
	}
	return out
}

// restsOn reports a reading that one of the asked tests is, or the step that a
// point asks for.
func restsOn(a Assessment, p procedures.Point, asked []string, e schema.Entry) bool {
	switch e.Kind {
	case "reading":
		r, err := schema.Into[schema.ReadingData](e)
		return err == nil && slices.Contains(asked, r.Test) && countsFor(a.Car, p, state.Reading{Entry: e, Data: r})
	case "step":
		s, err := schema.Into[schema.StepData](e)
		return err == nil && slices.ContainsFunc(a.Steps, func(step Step) bool { return step.ID == s.Step && step.Point == p.ID })
	}
	return false
}

// standing is how a closed point would stand without the readings of gauges
// that were found bad since: what it rests on that is sound, and what its rules
// say of it. A reading that was taken after the closing does not stand in for
// one that it was closed on. The assessment comes back as it is when no such
// gauge was used.
func standing(a Assessment, p procedures.Point, closing state.PointEntry) (left Assessment, spoiled string) {
	gone := map[string]string{} // readings of gauges that were found bad, and why
	var tests []string
	for _, r := range a.Car.Readings {
		if why := rules.FoundBad(a.Car, r); why != "" && a.Car.InVisit(r.Entry) {
			gone[r.Entry.ID] = why
			if closedOn(a.Car, closing, r) {
				tests = append(tests, r.Data.Test)
				spoiled = why
			}
		}
	}
	if len(gone) == 0 {
		return a, ""
	}
	c := *a.Car
	c.Readings = slices.DeleteFunc(slices.Clone(c.Readings), func(r state.Reading) bool {
		return gone[r.Entry.ID] != "" || slices.Contains(tests, r.Data.Test) && c.InVisit(r.Entry) && !closedOn(a.Car, closing, r)
	})
	left = Assessment{Car: &c, Steps: steps(&c)}
	left.Findings = slices.DeleteFunc(slices.Clone(a.Findings), func(f schema.Finding) bool {
		return slices.ContainsFunc(f.Entries, func(id string) bool { return gone[id] != "" })
	})
	left.Findings = append(left.Findings, judge(&c, p.Rules)...)
	return left, spoiled
}

// closedOn reports a reading that a closing rests on: as the closing says, or,
// when it is older than that, a reading before it.
func closedOn(c *state.Car, closing state.PointEntry, r state.Reading) bool {
	first := c.First(r.Entry)
	if rests := closing.Data.Rests; len(rests) > 0 {
		return slices.Contains(rests, r.Entry.ID) || slices.Contains(rests, first.ID)
	}
	return schema.Order(first, closing.Entry) < 0
}

// judge is what some rules say of a car, with the answers given.
func judge(c *state.Car, ids []string) []schema.Finding {
	var found []schema.Finding
	for _, id := range ids {
		if rule, ok := rules.Find(id); ok {
			found = append(found, rule.Judge(c)...)
		}
	}
	answer(c, found)
	return found
}
