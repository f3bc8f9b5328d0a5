package checklist_test

import (
	cmdline "flag"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"feedproof/checklist"
	"feedproof/checklist/rules"
)

var update = cmdline.Bool("update", false, "write the golden pages anew")

func TestEveryRuleHasItsPage(t *testing.T) {
	if len(rules.All()) < 14 {
		t.Fatalf("%d rules", len(rules.All()))
	}
	for _, r := range rules.All() {
		for field, text := range map[string]string{"title": r.Title, "what": r.What, "limits": r.Limits, "source": r.Source, "means": r.Means, "next": r.Next} {
			if strings.TrimSpace(text) == "" {
				t.Errorf("rule %s: its page has no %s", r.ID, field)
			}
		}
		if r.Judge == nil {
			t.Errorf("rule %s judges nothing", r.ID)
		}
		lower := strings.ToLower(r.Page())
		for _, word := range []string{" is legal", "is safe", "todo"} {
			if strings.Contains(lower, word) {
				t.Errorf("rule %s: its page says %q", r.ID, word)
			}
		}
	}
}

func TestEveryPageExplainsItself(t *testing.T) {
	seen := map[string]string{}
	for _, p := range checklist.Pages() {
		if kind, twice := seen[p.ID]; twice {
			t.Errorf("%s %q has the id of a %s", p.Kind, p.ID, kind)
		}
		seen[p.ID] = p.Kind
		text, ok := checklist.Explain(p.ID)
		if !ok || !strings.HasPrefix(text, "# ") || !strings.Contains(text, p.Title) {
			t.Errorf("%s %s: its page is %.80q", p.Kind, p.ID, text)
		}
	}
	if len(seen) < 200 {
		t.Errorf("only %d pages", len(seen))
	}
	if _, ok := checklist.Explain("no such page"); ok {
		t.Error("there is a page for anything")
	}
}

// TestPagesAsPrinted compares whole pages with what somebody has looked at.
func TestPagesAsPrinted(t *testing.T) {
	for _, id := range []string{"L06", "K05", "HP5"} {
		file := "testdata/" + id + ".golden.md"
		got, _ := checklist.Explain(id)
		if *update {
			if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(string(want), got); diff != "" {
			t.Errorf("%s (-update writes it anew):\n%s", id, diff)
		}
	}
}
