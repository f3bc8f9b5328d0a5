package audit

import (
	"errors"
	"fmt"
	"slices"
	"testing"

	"feedproof/schema"
)

var numbers = table[int]{schema.VehicleRecord, "numbers"}

// numbered is a source with one table: a row for each record, its number.
type numbered struct {
	Source
	records int
	bad     int // the record whose facts cannot be read; -1 for none
}

func (n numbered) Facts(_ schema.RecordKind, _ string, visit func(string, []byte) error) error {
	for i := range n.records {
		facts := fmt.Appendf(nil, `[%d]`, i)
		if i == n.bad {
			facts = facts[:1]
		}
		if err := visit(fmt.Sprint("r", i), facts); err != nil {
			return err
		}
	}
	return nil
}

// However many records are decoded at once, each comes once, in its place.
func TestEachInOrder(t *testing.T) {
	for _, records := range []int{0, 1, atOnce - 1, atOnce, atOnce + 1, 3*atOnce + 7} {
		seen := 0
		err := each(&asking{Source: numbered{records: records, bad: -1}}, numbers, "", func(record string, rows []int) error {
			if want := fmt.Sprint("r", seen); record != want || !slices.Equal(rows, []int{seen}) {
				t.Fatalf("%d records: %s %v, want %s %d", records, record, rows, want, seen)
			}
			seen++
			return nil
		})
		if err != nil || seen != records {
			t.Errorf("%d records: %d seen, %v", records, seen, err)
		}
	}
}

// Facts that cannot be read and a visit that fails end it, and say where.
func TestEachEnds(t *testing.T) {
	for _, bad := range []int{0, atOnce - 1, atOnce + 3} {
		err := each(&asking{Source: numbered{records: 2 * atOnce, bad: bad}}, numbers, "", func(string, []int) error { return nil })
		if want := fmt.Sprintf("r%d: ", bad); err == nil || err.Error()[:len(want)] != want {
			t.Errorf("record %d cannot be read: %v, want %s...", bad, err, want)
		}
	}
	enough, seen := errors.New("enough"), 0
	err := each(&asking{Source: numbered{records: 2 * atOnce, bad: -1}}, numbers, "r", func(string, []int) error { return nil })
	if err != nil {
		t.Errorf("no facts hold the text: %v", err)
	}
	err = each(&asking{Source: numbered{records: 2 * atOnce, bad: -1}}, numbers, "[", func(string, []int) error {
		seen++
		return enough
	})
	if !errors.Is(err, enough) || seen != 1 {
		t.Errorf("a visit failed: %v after %d, want %v after 1", err, seen, enough)
	}
}
