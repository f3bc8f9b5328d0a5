package cli

import (
	"strings"
	"testing"
)

func TestBuildLines(t *testing.T) {
	b := build{Version: "v1.2.3", Commit: "0123456789abcdef", Date: "2026-03-02T09:00:00Z", Rules: 1, Pages: "abcdefabcdefabcdef", Writes: 2, Reads: [2]int{1, 2}, Go: "go1.26", System: "linux/arm64"}
	want := `feedproof v1.2.3
commit 0123456789ab of 2026-03-02T09:00:00Z
rules  1 rule, digest of their pages abcdefabcdef
format writes 2, reads 1 to 2
built  by go1.26 for linux/arm64`
	if got := b.lines(); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	b.Commit, b.Edited = "", true
	if got := b.lines(); !strings.Contains(got, "\ncommit not known, edited afterwards\n") {
		t.Errorf("got\n%s", got)
	}
}

// The digest covers rules and procedures, and is the same each time.
func TestRuleBook(t *testing.T) {
	rules, digest := ruleBook()
	if again, same := ruleBook(); again != rules || same != digest || len(digest) != 64 || rules < 50 {
		t.Errorf("%d rules, %s; then %d, %s", rules, digest, again, same)
	}
}
