//go:build mutate

package checklist_test

import (
	"encoding/json"
	"fmt"
	"os"
	"runtime"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"feedproof/checklist/rules"
	"feedproof/checklist/state"
	"feedproof/schema"
)

// These tests are those of cmd/dev/mutate: they hold a whole run of scenarios and
// limits against one broken rule after another.

// mutantCase is a car and whether what the rules say of it is right.
type mutantCase struct {
	name  string
	tell  func() *situation
	car   *state.Car
	says  map[string][]schema.Finding // of each rule, with no mutant
	right func([]schema.Finding) bool
}

func (c *mutantCase) fold(t *testing.T) {
	b := c.tell().build(t)
	c.car = state.Fold(state.Told(b.record), b.shop, b.moment)
}

func mutantCases(t *testing.T) []mutantCase {
	var cases []mutantCase
	add := func(name string, tell func() *situation, right func([]schema.Finding) bool) {
		cases = append(cases, mutantCase{name: name, tell: tell, right: right})
	}
	for _, sc := range loadScenarios(t) {
		if sc.Refused == "" {
			add(sc.ID, func() *situation { return sc.situation(t) }, func(found []schema.Finding) bool { return asExpected(sc.Expect, found) })
		}
	}
	limits := func(base string, edges []edge) {
		for _, e := range edges {
			for i, x := range e.values {
				tell := func() *situation {
					s := loadBase(t, base)
					ideal(t, s)
					s.apply(t, e.set(x)...)
					return s
				}
				add(fmt.Sprintf("%s %g %s", e.rule, x, e.what), tell, func(found []schema.Finding) bool { return isJudgedAs(e.rule, e.want[i], e.also, found) })
			}
		}
	}
	limits("clean", slices.Concat(pressureEdges, electricalEdges, cautionEdges, otherEdges, flowTestEdges, tankEdges, planEdges(t), furtherEdges(t)))
	limits("carburettor", carburettorEdges)
	for _, v := range allVerdicts {
		add(v.rule+" "+v.what, func() *situation { return v.situation(t) }, func(found []schema.Finding) bool { return isJudgedAs(v.rule, v.want, v.also, found) })
	}
	for base, chain := range map[string][]changedPart{"clean": retestChain, "carburettor": carburettorChain} {
		for _, r := range chain {
			tell := func() *situation {
				s := loadBase(t, base)
				s.apply(t, fittedLate(r.position)...)
				return s
			}
			add(base+", "+r.position+" fitted", tell, func(found []schema.Finding) bool { return voids(found, r.void) })
		}
	}
	return cases
}

func asExpected(want []expected, found []schema.Finding) bool {
	left := slices.Clone(found)
	for _, w := range want {
		w.Answered = false // answers are not the rules'
		i := indexOf(w, left)
		if i < 0 {
			return false
		}
		left = slices.Delete(left, i, i+1)
	}
	return !slices.ContainsFunc(left, func(f schema.Finding) bool { return f.Severity > schema.Note })
}

func isJudgedAs(rule string, want schema.Severity, also []string, found []schema.Finding) bool {
	worst := schema.OK
	for _, f := range found {
		if f.Rule == rule {
			worst = max(worst, f.Severity)
		} else if f.Severity > schema.Note && !slices.Contains(also, f.Rule) {
			return false
		}
	}
	return worst == want
}

// noticed finds a case that is no longer right when some rules, or all, judge
// anew; a panic is noticed too.
func noticed(cases []mutantCase, ids []string) (name string) {
	at := ""
	defer func() {
		if recover() != nil {
			name = at
		}
	}()
	for i, c := range cases {
		at = c.name
		var found []schema.Finding
		for _, r := range rules.All() {
			if len(ids) > 0 && !slices.Contains(ids, r.ID) {
				found = append(found, c.says[r.ID]...)
				continue
			}
			found = append(found, r.Judge(c.car)...)
		}
		if c.car.Looking() { // as the checklist does
			found = slices.DeleteFunc(found, rules.Waits)
		}
		if !c.right(found) { // first next time: neighbours break the same
			cases[0], cases[i] = cases[i], cases[0]
			return c.name
		}
	}
	return ""
}

// TestMutantIsNoticed runs with the mutant of FEEDPROOF_MUTANT: it fails when
// the mutant is noticed. The cases of the rules that FEEDPROOF_RULES names come
// first.
func TestMutantIsNoticed(t *testing.T) {
	var first, rest []mutantCase
	for _, c := range mutantCases(t) {
		if slices.ContainsFunc(strings.Fields(os.Getenv("FEEDPROOF_RULES")), func(id string) bool { return strings.HasPrefix(c.name, id) }) {
			first = append(first, c)
		} else {
			rest = append(rest, c)
		}
	}
	for _, c := range append(first, rest...) {
		c.fold(t)
		if name := noticed([]mutantCase{c}, nil); name != "" {
			t.Fatalf("noticed by %s", name)
		}
	}
}

// Bounds of one mutant: one that loops or grows beyond them is noticed.
const (
	mutantTime   = 20 * time.Second
	mutantMemory = 1 << 30
)

// TestMutantsAreNoticed switches on one mutant of FEEDPROOF_MUTANTS after the
// other, and writes a line for each to FEEDPROOF_VERDICTS: its place in the
// list, and whether it lives. A mutant out of bounds ends the process.
func TestMutantsAreNoticed(t *testing.T) {
	text, err := os.ReadFile(os.Getenv("FEEDPROOF_MUTANTS"))
	if err != nil {
		t.Fatal(err)
	}
	var list []struct {
		ID, Alt int
		Rules   []string
	}
	if err := json.Unmarshal(text, &list); err != nil {
		t.Fatal(err)
	}
	out, err := os.Create(os.Getenv("FEEDPROOF_VERDICTS"))
	if err != nil {
		t.Fatal(err)
	}
	defer out.Close()
	cases := mutantCases(t)
	for i := range cases {
		c := &cases[i]
		c.fold(t)
		c.says = map[string][]schema.Finding{}
		for _, r := range rules.All() {
			c.says[r.ID] = r.Judge(c.car)
		}
	}
	if name := noticed(cases, nil); name != "" {
		t.Fatalf("without a mutant %s is wrong", name)
	}
	var begun atomic.Int64
	begun.Store(time.Now().UnixNano())
	go watch(&begun)
	for i, m := range list {
		begun.Store(time.Now().UnixNano())
		rules.SetMutant(m.ID, m.Alt)
		lives := noticed(cases, m.Rules) == "" && (len(m.Rules) == 0 || noticed(cases, nil) == "")
		fmt.Fprintln(out, i, lives)
	}
	rules.SetMutant(0, 0)
}

func watch(begun *atomic.Int64) {
	for range time.Tick(200 * time.Millisecond) {
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		if time.Since(time.Unix(0, begun.Load())) > mutantTime || m.HeapAlloc > mutantMemory {
			os.Exit(3)
		}
	}
}
