package cli

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Large letters never run over the edge of a screen.
func TestLargeLettersFit(t *testing.T) {
	for columns := 1; columns <= 100; columns++ {
		for _, l := range large("FUEL CLOSED", columns) {
			if len(l) > columns && l != "FUEL" && l != "CLOSED" {
				t.Errorf("%d columns: %q", columns, l)
			}
		}
	}
	if rows := large("FUEL CLOSED", 80); len(rows) != 6 {
		t.Errorf("at 80 columns it takes %d rows, want one blank and five", len(rows))
	}
	if rows := large("FUEL CLOSED", 60); len(rows) != 12 {
		t.Errorf("at 60 columns it takes %d rows, want a word below the other", len(rows))
	}
	if diff := cmp.Diff([]string{"", "FUEL", "", "CLOSED"}, large("FUEL CLOSED", 12)); diff != "" {
		t.Error(diff)
	}
	for r := range strings.SplitSeq("F U E L C O S D P N H", " ") {
		if rows := enlarged(r); len(strings.Join(rows, "")) < 12 {
			t.Errorf("%s has no large letter", r)
		}
	}
}
