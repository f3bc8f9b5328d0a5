package checklist_test

import (
	"fmt"
	"testing"

	"feedproof/checklist"
	"feedproof/checklist/state"
)

// longRecord is the clean car after it came back again and again, until its
// record has so many entries.
func longRecord(t helper, entries int) built {
	t.Helper()
	s := loadBase(t, "clean")
	first := s.entries
	for n := 1; len(s.entries) < entries; n++ {
		for _, c := range first {
			again := *c
			again.Name = fmt.Sprintf("%s of %d", c.Name, n)
			again.Counter = int64(len(s.entries) + 1)
			s.entries = append(s.entries, &again)
		}
	}
	s.entries = s.entries[:entries]
	return s.build(t)
}

// BenchmarkEvaluate400 judges a record of 400 entries: what check does once
// the record is read.
func BenchmarkEvaluate400(b *testing.B) {
	r := longRecord(b, 400)
	for b.Loop() {
		checklist.Evaluate(r.record, r.shop, r.moment)
	}
}

func BenchmarkAssess400(b *testing.B) {
	r := longRecord(b, 400)
	for b.Loop() {
		checklist.Assess(r.record, r.shop, r.moment)
	}
}

func BenchmarkFold400(b *testing.B) {
	r := longRecord(b, 400)
	for b.Loop() {
		state.Fold(state.Told(r.record), r.shop, r.moment)
	}
}
