package checklist_test

import (
	"testing"

	"feedproof/checklist"
)

// TestLint holds the shipped book against the rules that there really are.
func TestLint(t *testing.T) {
	problems, err := checklist.Lint()
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range problems {
		t.Error(p)
	}
}
