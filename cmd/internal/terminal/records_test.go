package terminal

import (
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"
)

// Every cell of a record keeps its name: a column has a head where it fits,
// however narrow the rest of the line, and is named where it does not.
func TestRecordsNameEveryCell(t *testing.T) {
	s, out := page(80, Options{NoColor: true})
	wide := strings.Repeat("w", 60)
	s.Records([]string{"CAR", "WHAT", "VISIT", "FROM"}, [][]string{{"kestrel", wide, "1", "vehicle/1"}})
	want := "CAR      WHAT" + strings.Repeat(" ", 58) + "VISIT\n" +
		"kestrel  " + wide + "  1\n" +
		"    from vehicle/1\n"
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Error(diff)
	}
	s, out = page(80, Options{NoColor: true})
	s.Records([]string{"CAR", "WHAT", "LIMIT", "FROM"}, [][]string{{"kestrel", wide, "at most 12.5 V", "vehicle/1"}})
	want = "kestrel\n    what " + wide + "\n    limit at most 12.5 V\n    from vehicle/1\n"
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Error(diff)
	}
	s, out = page(80, Options{NoColor: true})
	s.Records([]string{"VISIT", "WHAT", "LIMIT", "FROM"}, [][]string{{"2", wide, "at most 12.5 V", "vehicle/1"}})
	want = "visit 2\n    what " + wide + "\n    limit at most 12.5 V\n    from vehicle/1\n"
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Error(diff)
	}
}

// A long job counts on a terminal, but not a thousand times a second.
func TestProgressIsBounded(t *testing.T) {
	s, out := page(80, Options{NoColor: true})
	count := s.Progress("reading records")
	const many = 100000
	for i := range many {
		count(i+1, many)
	}
	if n := strings.Count(out.String(), "reading records"); n > 100 {
		t.Errorf("%d lines for a job of a moment", n)
	}
	if text := out.String(); text != "" && !strings.HasSuffix(text, "\r\x1b[K") {
		t.Errorf("it ends with %q", text[max(0, len(text)-40):])
	}
	piped, none := page(0, Options{})
	if piped.Progress("x") != nil || none.Len() > 0 {
		t.Error("it counts in a pipe")
	}
}

// A job whose size nobody knows counts too, and leaves nothing behind.
func TestProgressWithoutATotal(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, out := page(80, Options{NoColor: true})
		count := s.Progress("looking at commit")
		for done := 1; done <= 10; done++ {
			time.Sleep(progressEvery / 2)
			count(done, 0)
		}
		count(10, 10)
		want := "\r\x1b[Klooking at commit 2\r\x1b[Klooking at commit 4\r\x1b[Klooking at commit 6\r\x1b[Klooking at commit 8\r\x1b[Klooking at commit 10\r\x1b[K"
		if diff := cmp.Diff(want, out.String()); diff != "" {
			t.Error(diff)
		}
	})
}
