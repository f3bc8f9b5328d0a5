package checklist_test

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"feedproof/checklist"
	"feedproof/schema"
)

// These laws hold over the whole evaluation of what bays wrote while they were
// apart. Source: they follow from "what is worse holds until somebody has seen
// both"; from memory.

// bad makes a car worse whoever writes it; good is evidence.
var bad = []compact{
	{Kind: "step", Data: map[string]any{"step": "b4", "state": "done", "joint": "rail"}},
	{Kind: "reading", Data: leakOf("wet")},
	{Kind: "caution", Data: map[string]any{"caution": "K20", "state": "seen", "where": "tank flange"}},
	{Kind: "incident", Data: map[string]any{"what": "fuel under the car", "severity": "serious", "injury": "no"}},
	{Kind: "remove", Data: map[string]any{"position": "pump", "why": "noisy", "condition": "runs"}},
	{Kind: "fit", Data: map[string]any{"position": "feed line", "why_none": "off the shelf"}},
	{Kind: "holdpoint", Data: map[string]any{"point": "HP9", "action": "reopen", "why": "a clamp was forgotten"}},
}

var good = []compact{
	{Kind: "reading", Data: leakOf("dry")},
	{Kind: "holdpoint", Data: map[string]any{"point": "HP5", "action": "close", "second": "tech-2"}},
	{Kind: "holdpoint", Data: map[string]any{"point": "HP9", "action": "close", "second": "tech-2"}},
	{Kind: "step", Data: map[string]any{"step": "J9", "state": "done", "second": "tech-2"}},
	{Kind: "note", Data: map[string]any{"text": "washed"}},
}

func leakOf(seen string) map[string]any {
	values := []any{
		map[string]any{"name": "pressure", "value": "4.30", "unit": "bar", "gauge": "PG1", "zero": map[string]any{"value": "0.00", "unit": "bar"}},
		map[string]any{"name": "held", "value": "90", "unit": "s"},
	}
	for _, joint := range []string{"feed at the rail", "filler", "tank flange", "return at the regulator", "feed line", "pump"} {
		values = append(values, map[string]any{"name": joint, "seen": "dry"})
	}
	values = append(values, map[string]any{"name": "rail", "seen": seen})
	return map[string]any{"test": "leak", "values": values, "second": "tech-2", "conditions": map[string]any{
		"barometer": map[string]any{"value": "101.3", "unit": "kPa abs"}, "charger": "no", "hose": "off", "engine": "off"}}
}

// telling is a car whose later entries were written by bays that did not always
// know of each other.
type telling struct {
	record schema.Record
	shop   built
}

// outcome is what may only become worse.
type outcome struct {
	released, mayLeave, closedFuel bool
	points                         map[string]bool // that apply, and whether they are closed
	worst                          schema.Severity
}

func outcomeOf(w telling) outcome {
	a := checklist.Assess(w.record, w.shop.shop, w.shop.moment)
	o := outcome{
		released: len(a.Standing.Releases) > 0, closedFuel: !a.Standing.FuelOpen,
		mayLeave: len(checklist.CanSignOff(a, "lead-1")) == 0, points: map[string]bool{},
	}
	for _, p := range a.Points {
		o.points[p.ID] = p.State == checklist.PointClosed
	}
	for _, f := range a.Findings {
		if f.Answered == "" && f.Severity > schema.Note {
			o.worst = max(o.worst, f.Severity)
		}
	}
	return o
}

// better names what is better in the second than in the first.
func better(before, after outcome) string {
	switch {
	case after.released && !before.released:
		return "released"
	case after.mayLeave && !before.mayLeave:
		return "may be signed off"
	case after.closedFuel && !before.closedFuel:
		return "fuel closed"
	case after.worst < min(before.worst, schema.Unproven):
		return "worst finding " + after.worst.String() + " for " + before.worst.String()
	}
	for id, closed := range after.points {
		if was, applied := before.points[id]; closed && applied && !was {
			return id + " closed"
		}
	}
	return ""
}

// drawTelling draws a whole job, done and perhaps signed, and what up to four
// bays wrote after it, some of them standing at an earlier moment.
func drawTelling(t *rapid.T, base string, most int) telling {
	return drawTellingOf(t, base, most, slices.Concat(bad, good))
}

// drawTellingOf draws only from some events.
func drawTellingOf(t *rapid.T, base string, most int, events []compact) telling {
	s := loadBase(t, base)
	b := s.build(t)
	entries := slices.Clone(b.record.Entries)
	devices := rapid.IntRange(1, 4).Draw(t, "bays")
	known := make([][]schema.Entry, devices)
	known[0] = entries
	for d := 1; d < devices; d++ {
		known[d] = entries[:rapid.IntRange(len(entries)/2, len(entries)).Draw(t, "stands at")]
	}
	for range rapid.IntRange(0, most).Draw(t, "entries") {
		d := rapid.IntRange(0, devices-1).Draw(t, "bay")
		if rapid.Bool().Draw(t, "syncs") {
			known[d] = union(known[d], known[rapid.IntRange(0, devices-1).Draw(t, "with")])
		}
		c := rapid.SampledFrom(events).Draw(t, "event")
		e := written(t, s, fmt.Sprint("bay-", d+2), &c, known[d], len(entries))
		known[d], entries = append(slices.Clip(known[d]), e), append(entries, e)
	}
	return telling{schema.NewRecord(schema.VehicleRecord, "car").With(entries...), b}
}

func union(a, b []schema.Entry) []schema.Entry {
	return schema.NewRecord(schema.VehicleRecord, "car").With(slices.Concat(a, b)...).Entries
}

// written is an entry of a bay that knows some.
func written(t helper, s *situation, device string, c *compact, known []schema.Entry, n int) schema.Entry {
	own := c.copied()
	own.Name, own.By, own.Device, own.At = fmt.Sprintf("later-%02d", n), "tech-1", device, fmt.Sprintf("+%dm", 1620+n)
	gauges := map[string]schema.Record{}
	for id, list := range s.gauges {
		gauges[id] = s.record(t, schema.GaugeRecord, id, *list, nil)
	}
	heads := schema.Heads(known)
	e := s.newEntry(t, seen{joinIDs(heads), schema.NextCounter(known, heads)}, own, gauges)
	return e
}

func joinIDs(ids []string) string {
	out := ""
	for _, id := range ids {
		out += id + " "
	}
	return out
}

var lawBases = []string{"clean", "rechecked"}

// TestLineOrderNeverMatters: the same entries in any order of lines are the
// same car.
func TestLineOrderNeverMatters(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawTelling(t, rapid.SampledFrom(lawBases).Draw(t, "base"), 6)
		first := outcomeOf(w)
		w.record.Entries = rapid.Permutation(w.record.Entries).Draw(t, "lines")
		if again := outcomeOf(w); fmt.Sprint(first) != fmt.Sprint(again) {
			t.Errorf("%v, and in another order %v", first, again)
		}
	})
}

// TestABadEventNeverImproves: whoever writes something bad, having seen
// whatever, makes nothing better.
func TestABadEventNeverImproves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		base := rapid.SampledFrom(lawBases).Draw(t, "base")
		w := drawTelling(t, base, 5)
		before := outcomeOf(w)
		knew := w.record.Entries[:rapid.IntRange(len(w.record.Entries)/2, len(w.record.Entries)).Draw(t, "knew")]
		knew = closedUnder(w.record, knew)
		c := rapid.SampledFrom(bad).Draw(t, "event")
		e := written(t, loadBase(t, base), "bay-9", &c, knew, 99)
		w.record = w.record.With(e)
		if what := better(before, outcomeOf(w)); what != "" {
			t.Errorf("%s, after %s %v by a bay that knew %d of %d", what, c.Kind, c.Data, len(knew), len(w.record.Entries))
		}
	})
}

// closedUnder are some entries and all that they saw.
func closedUnder(r schema.Record, some []schema.Entry) []schema.Entry {
	sight := schema.NewSight(r.Entries)
	all := slices.Clone(some)
	for _, e := range schema.Heads(some) {
		all = append(all, sight.Seen(e)...)
	}
	return union(all, nil)
}

// TestHavingSeenLessNeverImproves cuts what an entry says that it saw.
func TestHavingSeenLessNeverImproves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawTelling(t, rapid.SampledFrom(lawBases).Draw(t, "base"), 6)
		before := outcomeOf(w)
		i := rapid.IntRange(1, len(w.record.Entries)-1).Draw(t, "entry")
		w.record.Entries = slices.Clone(w.record.Entries)
		e := &w.record.Entries[i]
		cut := rapid.SampledFrom(e.After).Draw(t, "cut")
		e.After = slices.DeleteFunc(slices.Clone(e.After), func(id string) bool { return id == cut })
		if what := better(before, outcomeOf(w)); what != "" {
			t.Errorf("%s, since %s (%s) no longer saw %s", what, e.ID, e.Kind, cut)
		}
	})
}

// TestNotBelievingAnAuthorNeverImproves doubts the hand of one entry.
func TestNotBelievingAnAuthorNeverImproves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawTelling(t, rapid.SampledFrom(lawBases).Draw(t, "base"), 5)
		before := outcomeOf(w)
		e := rapid.SampledFrom(w.record.Entries).Draw(t, "entry")
		w.record.Doubts = map[string]string{e.ID: "the signature does not fit"}
		if what := better(before, outcomeOf(w)); what != "" {
			t.Errorf("%s, since the hand of %s (%s) is doubted", what, e.ID, e.Kind)
		}
	})
}

// TestOneBayIsTheLinearOrder: what one bay writes is judged in the order in
// which it wrote.
func TestOneBayIsTheLinearOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawTelling(t, "clean", 0)
		if n := len(schema.NewSight(w.record.Entries).Orders()); n != 1 {
			t.Errorf("%d orders of what one bay wrote", n)
		}
	})
}
