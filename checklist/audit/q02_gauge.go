package audit

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"feedproof/checklist/car"
	"feedproof/checklist/past"
	"feedproof/schema"
)

var _ = register(Question{
	ID: "Q02", Name: "gauges", Title: "Which readings rest on a gauge that was past its calibration or found bad later, and what rests on them alone?",
	Args: []Arg{{Name: "GAUGE", What: "one gauge; all of them without it", Optional: true}},
	How: "A reading counts as lapsed when it was taken after the due date that was copied with it, or with no due date at all; the due date itself is in date. " +
		"It counts as found bad when the next check or calibration of the gauge after it, bump tests aside, is a check that found it bad. " +
		"A hold point rests on a reading when its closing names it, or when the point asks for that test and was closed after it in the same visit. " +
		"It rests on it alone when no other reading of that test before the closing, in that visit, was made with a gauge in order.",
	Needs: "A reading that names no gauge is not listed: the rules treat it as not proven. A gauge that was bad and never checked does not show.",
}, askGauges)

func askGauges(a *asking) error {
	a.carColumns("visit: number", "test: reading", "read: when", "gauge: which", "why: lapsed or found bad", "alone: hold points that rest on it alone", "left: date of the sign-off after it")
	histories, err := a.gaugeHistories(a.args["GAUGE"])
	if err != nil {
		return err
	}
	var suspects []string
	err = each(a, schema.VehicleRecord, tableGauges, "", func(record string, rows []gaugeFact) error {
		if slices.ContainsFunc(rows, func(f gaugeFact) bool {
			h, asked := histories[f.Gauge]
			return asked && (f.Lapsed || slices.ContainsFunc(f.Days, h.maybeBad))
		}) {
			suspects = append(suspects, record)
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, record := range suspects {
		if err := a.gaugeRows(record, histories); err != nil {
			return err
		}
	}
	a.sortRows(4, 0)
	if id := a.args["GAUGE"]; id != "" {
		a.note("%s", histories[id])
	}
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
	ids, err := a.IDs(schema.GaugeRecord)
	if err != nil {
		return nil, err
	}
	if only != "" {
		i := slices.IndexFunc(ids, func(id string) bool { return strings.EqualFold(id, only) })
		if i < 0 {
			return nil, &UsageError{a.answer.Question, fmt.Sprintf("gauge %s is not in this shop: %s", only, strings.Join(ids, ", "))}
		}
		ids = ids[i : i+1]
		a.args["GAUGE"] = ids[0]
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
	for _, e := range r.Entries {
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

// trouble is why a value of a reading proves nothing by its gauge.
func trouble(e schema.Entry, g schema.GaugeSnapshot, h gaugeHistory) string {
	switch bad, is := h.foundBad(e.At); {
	case g.Due == "":
		return "no calibration"
	case lapsed(e, g):
		return "due " + g.Due
	case is:
		return "found bad: " + bad.said
	}
	return ""
}

// gaugeRows looks into one car.
func (a *asking) gaugeRows(record string, histories map[string]gaugeHistory) error {
	r, err := a.Record(schema.VehicleRecord, record)
	if err != nil {
		return err
	}
	c := car.Fold(r, schema.Shop{}, a.now)
	for _, v := range past.Visits(c) {
		readings := past.Of[schema.ReadingData](v)
		for _, reading := range readings {
			gauge, why := badGauge(reading, histories)
			if why == "" {
				continue
			}
			rests, closings := restsAlone(c, v, reading, readings, histories)
			left := ""
			if v.Release != nil && schema.Order(reading.Entry, v.Release.Entry) < 0 {
				left = date(v.Release.Entry.At)
			}
			err := a.row(record, append([]string{reading.Entry.ID}, closings...), v.Number, reading.Data.Test, minute(reading.Entry.At), gauge, why, strings.Join(rests, " "), left)
			if err != nil {
				return err
			}
		}
	}
	return nil
}

func badGauge(r past.Fact[schema.ReadingData], histories map[string]gaugeHistory) (gauge, why string) {
	for _, v := range r.Data.Values {
		if v.Gauge == nil {
			continue
		}
		h, asked := histories[v.Gauge.Gauge]
		if !asked {
			continue
		}
		if why := trouble(r.Entry, *v.Gauge, h); why != "" {
			return v.Gauge.Gauge, why
		}
	}
	return "", ""
}

// restsAlone lists the hold points that rest on a reading, and on no reading
// of the test with a gauge in order, with their closings.
func restsAlone(c *car.Car, v past.Visit, bad past.Fact[schema.ReadingData], readings []past.Fact[schema.ReadingData], histories map[string]gaugeHistory) (points, closings []string) {
	for _, p := range past.Of[schema.HoldPointData](v) {
		template, _ := c.Book.Point(p.Data.Point)
		rests := slices.Contains(p.Data.Rests, bad.Entry.ID) || slices.Contains(template.Tests, bad.Data.Test) && schema.Order(bad.Entry, p.Entry) < 0
		if p.Data.Action != schema.ClosePoint || !rests {
			continue
		}
		sound := slices.ContainsFunc(readings, func(r past.Fact[schema.ReadingData]) bool {
			_, why := badGauge(r, histories)
			return r.Data.Test == bad.Data.Test && schema.Order(r.Entry, p.Entry) < 0 && why == ""
		})
		if !sound {
			points, closings = append(points, p.Data.Point), append(closings, p.Entry.ID)
		}
	}
	return points, closings
}
