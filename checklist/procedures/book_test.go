package procedures_test

import (
	"testing"

	"feedproof/checklist/procedures"
	"feedproof/schema"
)

// TestLoadReadsTheWholeBook guards against a file that is lost or misplaced:
// the trade's list has hold points 0 to 12.
func TestLoadReadsTheWholeBook(t *testing.T) {
	book := shipped(t)
	if got, want := len(book.Points), 13; got != want {
		t.Errorf("%d hold points, want %d", got, want)
	}
	for _, kind := range []schema.JobKind{"a", "b"} {
		if len(book.For([]schema.JobKind{kind})) < 40 {
			t.Errorf("job %s: %d steps", kind, len(book.For([]schema.JobKind{kind})))
		}
	}
}

func shipped(t *testing.T) procedures.Book {
	t.Helper()
	book, err := procedures.Load()
	if err != nil {
		t.Fatal(err)
	}
	return book
}
