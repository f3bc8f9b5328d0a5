package audit

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"feedproof/checklist/procedures"
	"feedproof/checklist/state"
	"feedproof/schema"
)

var _ = register(Question{
	ID: "Q02", Name: "gauges", Title: "Which readings rest on a gauge that was past its calibration or found bad later, and what rests on them alone?",
	Args: []Arg{{Name: "GAUGE", What: "one gauge; all of them without it", Optional: true}},
	How: "A reading counts as lapsed when it was taken after the due date that was copied with it, or with no due date at all; the due date itself is in date. " +
		"It counts as found bad when the next check or calibration of the gauge after it, bump tests aside, is a check that found it bad. " +
		"A hold point rests on the readings that its closing names; one that was closed before closings named any, on those before it, in that visit, of the tests that it asks for. " +
		"It rests on one alone when none of the others of that test was made with a gauge in order.",
	Needs: "A reading that names no gauge is not listed: the rules treat it as not proven. A gauge that was bad and never checked does not show.",
}, askGauges)

func askGauges(a *asking) error {
	if err := a.knownGauge("GAUGE"); err != nil {
		return err
	}
	a.carColumns("visit: number", "test: reading", "read: when", "gauge: which", "why: lapsed or found bad", "alone: hold points that rest on it alone", "left: date of the sign-off after it")
	histories, err := a.gaugeHistories(a.args["GAUGE"])
	if err != nil {
		return err
	}
	suspects := map[string]bool{}
	err = each(a, tableGauges, "", func(record string, rows []gaugeFact) error {
		if slices.ContainsFunc(rows, func(f gaugeFact) bool {
			h, asked := histories[f.Gauge]
			return asked && (f.Lapsed || slices.ContainsFunc(f.Days, h.maybeBad))
		}) {
			suspects[record] = true
		}
		return nil
	})
	if err != nil {
		return err
	}
	if err := a.gaugeRows(suspects, histories); err != nil {
		return err
	}
	a.sortRows(4, 0)
	if id := a.args["GAUGE"]; id != "" {
		a.note("%s", histories[id])
	}
	return nil
}

// knownGauge holds an argument that names a gauge, when it is given, to the
// gauges of the shop, and writes it as their record does.
func (a *asking) knownGauge(arg string) error {
	typed := a.args[arg]
	if typed == "" {
		return nil
	}
	ids, err := a.IDs(schema.GaugeRecord)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(ids, func(id string) bool { return strings.EqualFold(id, typed) })
	if i < 0 {
		return &UsageError{a.answer.Question, fmt.Sprintf("gauge %s is not in this shop: %s", typed, strings.Join(ids, ", "))}
	}
	a.args[arg] = ids[i]
	return nil
}

// gaugeHistory is what happened to a gauge, in order of record.
type gaugeHistory struct {
	events []gaugeEvent
}

type gaugeEvent struct {
	at   time.Time
	bad  bool
	said string
}

// gaugeHistories reads the gauges; all of the shop's, and those that only
// readings know, without a name.
func (a *asking) gaugeHistories(only string) (map[string]gaugeHistory, error) {
	ids := []string{only}
	if only == "" {
		var err error
		if ids, err = a.IDs(schema.GaugeRecord); err != nil {
			return nil, err
		}
	}
	all := map[string]gaugeHistory{}
	for _, id := range ids {
		r, err := a.Record(schema.GaugeRecord, id)
		if err != nil {
			return nil, err
		}
		all[id] = gaugeHistoryOf(r)
	}
	return all, nil
}

func gaugeHistoryOf(r schema.Record) gaugeHistory {
	var h gaugeHistory
	for _, e := range state.Standing(r) {
		if d, err := schema.Into[schema.CalibrationData](e); err == nil {
			h.events = append(h.events, gaugeEvent{e.At, false, "calibrated " + d.Date + ", due " + d.Due})
		}
		if d, err := schema.Into[schema.CheckData](e); err == nil && d.Check != schema.BumpTest {
			h.events = append(h.events, gaugeEvent{e.At, d.Result == schema.Bad, string(d.Check) + " " + string(d.Result) + " " + date(e.At)})
		}
	}
	return h
}

func (h gaugeHistory) String() string {
	var said []string
	for _, e := range h.events {
		said = append(said, e.said)
	}
	return strings.Join(said, "; ")
}

// foundBad is the bad check that is the first event after a moment.
func (h gaugeHistory) foundBad(at time.Time) (gaugeEvent, bool) {
	for _, e := range h.events {
		if e.at.After(at) {
			return e, e.bad
		}
	}
	return gaugeEvent{}, false
}

// maybeBad reports that some moment of a day may be one.
func (h gaugeHistory) maybeBad(day string) bool {
	begin, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return true
	}
	end := begin.AddDate(0, 0, 1)
	if _, bad := h.foundBad(begin.Add(-time.Second)); bad {
		return true
	}
	return slices.ContainsFunc(h.events, func(e gaugeEvent) bool {
		if e.at.Before(begin) || e.at.After(end) {
			return false
		}
		_, bad := h.foundBad(e.at)
		return bad || e.bad
	})
}

// trouble is why a gauge proves nothing at a moment.
func trouble(at time.Time, due string, h gaugeHistory) string {
	switch bad, is := h.foundBad(at); {
	case due == "":
		return "no calibration"
	case state.Lapsed(schema.GaugeSnapshot{Due: due}, at):
		return "due " + due
	case is:
		return "found bad: " + bad.said
	}
	return ""
}

// gaugeRows looks into what the suspected cars rest on.
func (a *asking) gaugeRows(suspects map[string]bool, histories map[string]gaugeHistory) error {
	book, err := procedures.Load()
	if err != nil {
		return err
	}
	return tableProofs.read(a, func(record string, facts []byte) error {
		if !suspects[record] {
			return nil
		}
		visits, err := decode[proofFact](facts)
		if err != nil {
			return err
		}
		for _, v := range visits {
			for i, r := range v.Readings {
				gauge, why := badGauge(r, histories)
				if why == "" {
					continue
				}
				points, closings := restsAlone(book, v, i, histories)
				left := ""
				if i < v.Signed {
					left = v.Release.day()
				}
				err := a.row(record, append([]string{r.Entry}, closings...), v.Visit, r.Test, minute(r.at()), gauge, why, strings.Join(points, " "), left)
				if err != nil {
					return err
				}
			}
		}
		return nil
	})
}

func (r readFact) at() time.Time { return time.Unix(r.Unix, 0) }

func badGauge(r readFact, histories map[string]gaugeHistory) (gauge, why string) {
	for _, g := range r.Gauges {
		h, asked := histories[g.Gauge]
		if !asked {
			continue
		}
		if why := trouble(r.at(), g.Due, h); why != "" {
			return g.Gauge, why
		}
	}
	return "", ""
}

// restsAlone lists the hold points that rest on a reading, and on no reading
// of the test with a gauge in order, with their closings.
func restsAlone(book procedures.Book, v proofFact, bad int, histories map[string]gaugeHistory) (points, closings []string) {
	reading := v.Readings[bad]
	for _, p := range v.Closings {
		template, _ := book.Point(p.Point)
		if !p.restsOn(reading, bad) || len(p.Rests) == 0 && !slices.Contains(template.Tests, reading.Test) {
			continue
		}
		sound := false
		for i, r := range v.Readings {
			_, why := badGauge(r, histories)
			sound = sound || r.Test == reading.Test && p.restsOn(r, i) && why == ""
		}
		if !sound {
			points, closings = append(points, p.Point), append(closings, p.Entry)
		}
	}
	return points, closings
}

// restsOn reports that a closing rests on a reading of the visit, the i-th: it
// names it, or names none and came after it.
func (p closingFact) restsOn(r readFact, i int) bool {
	if len(p.Rests) > 0 {
		return slices.Contains(p.Rests, r.Entry)
	}
	return i < p.After
}
