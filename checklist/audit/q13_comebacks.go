package audit

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"feedproof/schema"
)

const comebackDays = 90

var _ = register(Question{
	ID: "Q13", Name: "comebacks", Title: "Which cars came back, and after whose work, which job and which lot?",
	Args: []Arg{{Name: "BY", What: "technician, job or lot: one row each, with its share; without it one row a comeback", Optional: true}},
	How: fmt.Sprintf("A car came back when the next visit after a sign-off began with a leak, damp or smell seen before anything was done, when its reason or the customer's words say comeback, "+
		"or when it began within %d days and was not just the re-check, that is HP11 was not closed in it. Kilometres are from the odometer out, else in, to the odometer at the next visit. "+
		"By technician counts everybody who worked in the visit that was signed, by job each of its job kinds, by lot each part fitted in it. A share's entries are those with which the visits began that the cars came back for; where none came back there are none.", comebackDays),
	Needs: "A car that leaks and goes elsewhere does not show. Few visits make large shares: a number of one in two says nothing about a person.",
}, askComebacks)

// comeback is a release and the visit after it.
type comeback struct {
	record   string
	left, at visitFact
	days     int
	km       *float64
	came     bool
}

func askComebacks(a *asking) error {
	by := strings.ToLower(a.args["BY"])
	if !slices.Contains([]string{"", "technician", "job", "lot"}, by) {
		return &UsageError{a.answer.Question, fmt.Sprintf("%q is not technician, job or lot", a.args["BY"])}
	}
	var all []comeback
	err := each(a, tableVisits, "", func(record string, rows []visitFact) error {
		for i, v := range rows {
			if v.Release != nil {
				all = append(all, comebackAfter(record, rows, i))
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	if by == "" {
		return a.comebackRows(all)
	}
	return a.comebackGroups(all, by)
}

func comebackAfter(record string, rows []visitFact, i int) comeback {
	c := comeback{record: record, left: rows[i]}
	if i+1 == len(rows) {
		return c
	}
	c.at = rows[i+1]
	c.days = daysBetween(leftAt(c.left).at(), c.at.Open.at())
	if km, ok := drivenSince(rows, i); ok {
		c.km = &km
	}
	said := strings.Contains(strings.ToLower(c.at.Reason+" "+c.at.Words), "comeback")
	c.came = c.at.Leak != nil || said || c.days <= comebackDays && !recheckedIn(c.left, c.at)
	return c
}

// leftAt is when the car left: the visit's end, else the sign-off.
func leftAt(v visitFact) *stamp {
	if v.Close != nil {
		return v.Close
	}
	return v.Release
}

func recheckedIn(left, next visitFact) bool {
	r := left.Recheck
	return r != nil && r.Unix >= next.Open.Unix && (next.Close == nil || r.Unix <= next.Close.Unix)
}

func (a *asking) comebackRows(all []comeback) error {
	a.carColumns("visit: that was signed off", "left: date", "back: date", "days: between", "driven_km: between, when known", "leak: seen on arrival", "jobs: of the visit that was signed off", "workers: in it", "reason: of the visit it came back for")
	came := 0
	for _, c := range all {
		if !c.came {
			continue
		}
		came++
		err := a.row(c.record, []string{c.left.Release.Entry, c.at.Open.Entry, c.at.Leak.id()}, c.left.No, leftAt(c.left).day(), c.at.Open.day(), c.days, orBlank(c.km), c.at.Leak != nil, jobWords(c.left.Kinds), joinWords(c.left.Workers), c.at.Reason)
		if err != nil {
			return err
		}
	}
	a.sortRows(4, 0)
	if len(all) > 0 {
		a.note("%d of %d sign-offs came back (%.1f %%)", came, len(all), 100*float64(came)/float64(len(all)))
	}
	return nil
}

func jobWords(kinds []schema.JobKind) string {
	var out []string
	for _, k := range kinds {
		out = append(out, string(k))
	}
	return joinWords(out)
}

// group is what stands behind one row of shares.
type group struct {
	releases, came, leaks int
	km                    float64
	withKm                int
	entries               []string
}

func (a *asking) comebackGroups(all []comeback, by string) error {
	a.columns(by+": whose share it is", "signed: sign-offs", "came_back: of them", "share_percent: of them", "leaks: came back with a leak or smell", "km_to_leak: mean, where known")
	lots, err := a.lotsOf(by, all)
	if err != nil {
		return err
	}
	groups := map[string]*group{}
	for _, c := range all {
		for _, name := range groupsOf(c, by, lots) {
			if groups[name] == nil {
				groups[name] = &group{}
			}
			groups[name].count(c)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(groups)) {
		g := groups[name]
		km := any("")
		if g.withKm > 0 {
			km = rounded(g.km/float64(g.withKm), 0)
		}
		a.add(schema.VehicleRecord, "", g.entries, name, g.releases, g.came, rounded(100*float64(g.came)/float64(g.releases), 1), g.leaks, km)
	}
	slices.SortStableFunc(a.answer.Rows, func(x, y Row) int { return cmp.Compare(y.Cells[2].(int), x.Cells[2].(int)) })
	a.note("few visits make large shares; look at the cars before judging anybody")
	return nil
}

func (g *group) count(c comeback) {
	g.releases++
	if !c.came {
		return
	}
	g.came++
	g.entries = append(g.entries, c.at.Open.Entry)
	if c.at.Leak != nil {
		g.leaks++
		if c.km != nil {
			g.km += *c.km
			g.withKm++
		}
	}
}

func groupsOf(c comeback, by string, lots map[string][]string) []string {
	switch by {
	case "technician":
		return c.left.Workers
	case "job":
		return strings.Fields(jobWords(c.left.Kinds))
	}
	return lots[c.record+" "+c.left.No]
}

// lotsOf are the parts that were fitted in each visit.
func (a *asking) lotsOf(by string, _ []comeback) (map[string][]string, error) {
	lots := map[string][]string{}
	if by != "lot" {
		return lots, nil
	}
	return lots, each(a, tableFits, "", func(record string, rows []fitFact) error {
		for _, f := range rows {
			key := record + " " + f.Visit
			if f.Part != "" && !slices.Contains(lots[key], f.Part) {
				lots[key] = append(lots[key], f.Part)
			}
		}
		return nil
	})
}
