// Package rules judges a folded car: one rule a file, its documentation being
// the page that `feedproof explain` shows.
//
// A rule is a pure function of the car at a moment. Limits compare unrounded
// SI values; making an input worse never improves a result, and a missing
// reading never gives OK. Adding a rule is adding its file: [All] finds it.
//
// What several rules read of a car, such as an amount of its plan or how far a
// measurement can be doubted, stands beside them in files without a number.
//
// What is deliberately absent: answers. Acknowledgements and waivers are
// matched to findings by package checklist.
package rules

import (
	"fmt"
	"slices"
	"strings"

	"feedproof/checklist/state"
	"feedproof/schema"
)

// Rule is one rule and its page.
type Rule struct {
	ID       string
	Title    string
	What     string // what is judged
	Formula  string // symbols with units
	Limits   string // the bands, OK first
	Source   string // a source, "common practice" or "from memory"
	Means    string // what a bad result means
	Next     string // the next check
	Words    Words  // what each of its findings means and what to do next
	Never    bool   // never waived, whatever the severity
	Envelope bool   // a lower envelope mends it too
	// OpensFuel says that while one of its findings is open, fuel can get out, or nobody has shown that it cannot.
	OpensFuel bool
	Shop      *ShopLimit // what a shop may tighten; nil: nothing
	Judge     func(*state.Car) []schema.Finding
}

// inVisit asks a rule only when a visit was opened.
func inVisit(judge func(*state.Car) []schema.Finding) func(*state.Car) []schema.Finding {
	return func(c *state.Car) []schema.Finding {
		if c.Visit == nil {
			return nil
		}
		return judge(c)
	}
}

var registry []Rule // by id

// register enters a rule into the list; each rule file calls it once.
func register(r Rule) struct{} {
	judge := r.Judge
	r.Judge = func(c *state.Car) []schema.Finding { return r.worded(judge(c)) }
	i, _ := place(r.ID)
	registry = slices.Insert(registry, i, r)
	return struct{}{}
}

func place(id string) (int, bool) {
	return slices.BinarySearchFunc(registry, id, func(r Rule, id string) int { return strings.Compare(r.ID, id) })
}

// All lists the rules by id.
func All() []Rule { return slices.Clip(registry) }

// Find finds a rule by id.
func Find(id string) (Rule, bool) {
	i, ok := place(id)
	if !ok {
		return Rule{}, false
	}
	return registry[i], true
}

// Mends is what can be done about a finding of the rule that nobody may waive.
func (r Rule) Mends() string {
	if r.Envelope {
		return "fix it, or lower the envelope"
	}
	return "fix it"
}

// Page is the rule's page as Markdown.
func (r Rule) Page() string {
	var b strings.Builder
	fmt.Fprintf(&b, "# %s: %s\n\n%s\n", r.ID, r.Title, r.What)
	for _, part := range []struct{ head, text string }{
		{"Formula", r.Formula}, {"Limits", r.Limits}, {"What a bad number means", r.Means},
		{"What to do next", r.Next}, {"Where it comes from", r.Source},
	} {
		if part.text != "" {
			fmt.Fprintf(&b, "\n## %s\n\n%s\n", part.head, part.text)
		}
	}
	if r.Never {
		fmt.Fprintf(&b, "\nNobody can waive this: %s.\n", r.Mends())
	}
	b.WriteString("\nMakers' instructions, local codes and licensed trades come before this page.\n")
	return b.String()
}
