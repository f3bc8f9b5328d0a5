package checklist_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"feedproof/checklist"
	"feedproof/checklist/state"
	"feedproof/schema"
)

// takenBack is a car after an entry was taken back by a bay that knew it and
// perhaps more.
func takenBack(t *rapid.T, base string, w telling, e schema.Entry) telling {
	some := rapid.IntRange(0, len(w.record.Entries)).Draw(t, "knew")
	knew := closedUnder(w.record, append([]schema.Entry{e}, w.record.Entries[:some]...))
	void := compact{Kind: "correct", Data: map[string]any{"entry": e.ID, "action": "void", "why": "typed on the wrong car by mistake"}}
	w.record = w.record.With(written(t, loadBase(t, base), "bay-9", &void, knew, 99))
	return w
}

// speaksFor reports an entry that can only speak for a car: a reading that saw
// no leak, a closing, an answer, a step that opened nothing, a sign-off.
func speaksFor(t *rapid.T, e schema.Entry) bool {
	switch e.Kind {
	case "reading":
		d := into[schema.ReadingData](t, e)
		return !slices.ContainsFunc(d.Values, func(v schema.Value) bool { return v.Seen != "" && v.Seen != "dry" && v.Seen != "yes" })
	case "holdpoint":
		return into[schema.HoldPointData](t, e).Action == "close"
	case "caution":
		return into[schema.CautionData](t, e).State == "met"
	case "step":
		return into[schema.StepData](t, e).Joint == ""
	}
	return e.Kind == "signoff" || e.Kind == "acknowledge" || e.Kind == "waive"
}

func into[T schema.Data](t helper, e schema.Entry) T {
	d, err := schema.Into[T](e)
	if err != nil {
		t.Fatalf("%s: %v", e.ID, err)
	}
	return d
}

// speaksAgainst reports one of the bad events that were drawn.
func speaksAgainst(t *rapid.T, w telling, e schema.Entry) bool {
	later := e.Device != w.record.Entries[0].Device
	return later && e.Kind != "note" && e.Kind != "correct" && !speaksFor(t, e)
}

func drawOf(t *rapid.T, w telling, label string, want func(schema.Entry) bool) (schema.Entry, bool) {
	some := slices.DeleteFunc(slices.Clone(w.record.Entries), func(e schema.Entry) bool { return !want(e) })
	if len(some) == 0 {
		return schema.Entry{}, false
	}
	return rapid.SampledFrom(some).Draw(t, label), true
}

// TestTakingBackEvidenceNeverImproves: whoever takes back what speaks for a car
// makes nothing better.
func TestTakingBackEvidenceNeverImproves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		base := rapid.SampledFrom(lawBases).Draw(t, "base")
		w := drawTelling(t, base, 5)
		e, ok := drawOf(t, w, "evidence", func(e schema.Entry) bool { return speaksFor(t, e) })
		if !ok {
			t.Fatal("nothing speaks for the car")
		}
		if what := better(outcomeOf(w), outcomeOf(takenBack(t, base, w, e))); what != "" {
			t.Errorf("%s, since %s (%s %s) was taken back", what, e.ID, e.Kind, e.Data)
		}
	})
}

// TestTakingBackBadNewsNeverWorsens: what was seen and turned out to be another
// car's leaves this one no worse.
func TestTakingBackBadNewsNeverWorsens(t *testing.T) {
	taken := 0
	rapid.Check(t, func(t *rapid.T) {
		base := rapid.SampledFrom(lawBases).Draw(t, "base")
		w := drawTelling(t, base, 5)
		e, ok := drawOf(t, w, "bad news", func(e schema.Entry) bool { return speaksAgainst(t, w, e) })
		if !ok {
			return
		}
		taken++
		if what := better(outcomeOf(takenBack(t, base, w, e)), outcomeOf(w)); what != "" {
			t.Errorf("%s, before %s (%s %s) was taken back", what, e.ID, e.Kind, e.Data)
		}
	})
	if taken == 0 {
		t.Error("no bad news was taken back")
	}
}

// TestLosingEvidenceNeverImproves: an entry that speaks for a car and turns out
// to say nothing makes nothing better.
func TestLosingEvidenceNeverImproves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		base := rapid.SampledFrom(lawBases).Draw(t, "base")
		w := drawTelling(t, base, 5)
		e, ok := drawOf(t, w, "evidence", func(e schema.Entry) bool { return speaksFor(t, e) })
		if !ok {
			t.Fatal("nothing speaks for the car")
		}
		before := outcomeOf(w)
		i := slices.IndexFunc(w.record.Entries, func(o schema.Entry) bool { return o.ID == e.ID })
		w.record.Entries = slices.Clone(w.record.Entries)
		w.record.Entries[i].Kind, w.record.Entries[i].Data = "note", []byte(`{"text":"nothing"}`)
		if what := better(before, outcomeOf(w)); what != "" {
			t.Errorf("%s, without %s (%s %s)", what, e.ID, e.Kind, e.Data)
		}
	})
}

// TestEvidenceThatSawAllRestores: whatever bays opened and saw leaking while
// they were apart, somebody who has seen all of it and tests each joint dry
// shows the fuel closed again. Source: common practice.
func TestEvidenceThatSawAllRestores(t *testing.T) {
	leaks := slices.Concat(bad[:2], good[:1])
	rapid.Check(t, func(t *rapid.T) {
		base := rapid.SampledFrom(lawBases).Draw(t, "base")
		w := drawTellingOf(t, base, 5, leaks)
		s := loadBase(t, base)
		dry := written(t, s, "bay-9", &compact{Kind: "reading", Data: leakOf("dry")}, w.record.Entries, 99)
		w.record = w.record.With(dry)
		a := checklist.Assess(w.record, w.shop.shop, w.shop.moment)
		if a.Standing.FuelOpen || len(a.Car.Openings) == 0 {
			t.Errorf("fuel open at %v, after a dry test that saw all", a.Standing.Joints)
		}
	})
}

// TestReleasedOverNothingUnseen: a car is released only while nothing that
// opens, changes or accuses it lies outside what was signed.
func TestReleasedOverNothingUnseen(t *testing.T) {
	released := 0
	rapid.Check(t, func(t *rapid.T) {
		w := drawTelling(t, "rechecked", 4)
		a := checklist.Assess(w.record, w.shop.shop, w.shop.moment)
		if len(a.Standing.Releases) == 0 {
			return
		}
		released++
		sight := schema.NewSight(w.record.Entries)
		for _, e := range w.record.Entries {
			inSignature := slices.ContainsFunc(a.Standing.Releases, func(s state.SignOff) bool { return s.Entry.ID == e.ID || sight.Saw(s.Entry.ID, e.ID) })
			if !inSignature && speaksAgainst(t, w, e) && e.Kind != "holdpoint" && !driedSince(sight, w, e) {
				t.Errorf("released over %s %s", e.Kind, e.Data)
			}
		}
	})
	if released == 0 {
		t.Error("no car was released")
	}
}

// TestBothSidesOfAMergeAgree: whichever bay fetches the other's entries.
func TestBothSidesOfAMergeAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawTelling(t, rapid.SampledFrom(lawBases).Draw(t, "base"), 6)
		i := rapid.IntRange(0, len(w.record.Entries)).Draw(t, "one side")
		one, other := closedUnder(w.record, w.record.Entries[:i]), w.record.Entries
		empty := schema.NewRecord(schema.VehicleRecord, "car")
		w.record = empty.With(one...).With(other...)
		first := outcomeOf(w)
		w.record = empty.With(other...).With(one...)
		if second := outcomeOf(w); fmt.Sprint(first) != fmt.Sprint(second) {
			t.Errorf("%v, and merged the other way %v", first, second)
		}
	})
}

// driedSince reports a leak that a later dry test saw.
func driedSince(sight *schema.Sight, w telling, leak schema.Entry) bool {
	return (leak.Kind == "reading" || leak.Kind == "caution") && slices.ContainsFunc(w.record.Entries, func(e schema.Entry) bool {
		return e.Kind == "reading" && strings.Contains(string(e.Data), `"leak"`) && !strings.Contains(string(e.Data), `"wet"`) && sight.Saw(e.ID, leak.ID)
	})
}
