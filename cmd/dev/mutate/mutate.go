// Package mutate breaks the rules on purpose, one small change at a time, and
// counts the changes that the scenarios and limits do not notice.
//
//	go run ./cmd/dev mutate            all of checklist/rules
//	go run ./cmd/dev mutate -only l26  the files whose names hold l26
//	go run ./cmd/dev mutate -quick     without constants
//
// The broken sources exist in an overlay of the build only; the tree is never
// touched. Most changes are compiled in together and switched on one by one;
// those of package-level values are switched on by the environment, and those
// of constants are compiled one by one.
package mutate

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
)

const target = "checklist/rules"

// Run breaks the rules and prints what was not noticed.
func Run(args []string, _ io.Writer) error {
	flags := flag.NewFlagSet("mutate", flag.ContinueOnError)
	only := flags.String("only", "", "mutate the files whose names hold this")
	flags.BoolVar(&quick, "quick", false, "leave out constants, which are compiled one by one")
	flags.BoolVar(&thorough, "thorough", false, "try survivors against the other tests too")
	if err := flags.Parse(args); err != nil {
		return err
	}
	return run(*only)
}

// quick leaves out what takes a build of its own.
var quick bool

// thorough runs hold points, laws and the rest against what scenarios, limits
// and the rules' own tests let pass; it takes half a minute each.
var thorough bool

func run(only string) error {
	dir, err := os.MkdirTemp("", "mutate")
	if err != nil {
		return err
	}
	defer func() { _ = os.RemoveAll(dir) }()
	m, err := rewrite(target, only)
	if err != nil {
		return err
	}
	var r result
	together, err := m.build(dir, nil)
	if err != nil {
		return err
	}
	if err := noticedBy(together, mutant{}); err != nil {
		return fmt.Errorf("the tests fail without a mutant: %w", err)
	}
	if err := r.together(together, dir, m.switched()); err != nil {
		return err
	}
	for _, c := range m.mutants {
		switch {
		case c.Init:
			r.count(c, alive(together, c))
		case c.constant && quick:
		case c.constant:
			single, err := m.build(filepath.Join(dir, "constant"), &c)
			if err != nil {
				r.invalid++
				continue
			}
			r.count(c, alive(single, c))
		}
	}
	return r.print()
}

// build compiles the test binaries with the overlay: all switchable mutants, or
// one constant.
func (m *mutation) build(dir string, constant *mutant) (binaries, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return binaries{}, err
	}
	overlay, err := m.overlay(dir, constant)
	if err != nil {
		return binaries{}, err
	}
	b := binaries{scenarios: filepath.Join(dir, "checklist.test"), rules: filepath.Join(dir, "rules.test")}
	for _, t := range []struct{ out, pkg string }{{b.scenarios, "./checklist"}, {b.rules, "./checklist/rules"}} {
		out, err := exec.Command("go", "test", "-c", "-tags", "mutate", "-vet=off", "-overlay", overlay, "-o", t.out, t.pkg).CombinedOutput()
		if err != nil {
			return b, fmt.Errorf("%s does not build: %s", t.pkg, out)
		}
	}
	return b, nil
}

// binaries are the compiled tests of the two packages.
type binaries struct{ scenarios, rules string }

func testRun(binary, pkg string, env []string, args ...string) error {
	cmd := exec.Command(binary, append(args, "-test.failfast", "-test.timeout", "5m")...)
	cmd.Dir = pkg
	cmd.Env = append(os.Environ(), env...)
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("%w: %s", err, out)
	}
	return nil
}

// alive runs the tests in a process of its own.
func alive(b binaries, c mutant) bool { return noticedBy(b, c) == nil }

// noticedBy is what the tests say of a mutant; nil when it lives.
func noticedBy(b binaries, c mutant) error {
	env := environment(c)
	if err := testRun(b.scenarios, "checklist", env, "-test.run", "^TestMutantIsNoticed$"); err != nil {
		return err
	}
	return noticedByOthers(b, env)
}

// environment switches a mutant on, and says whose rule it is.
func environment(c mutant) []string {
	return []string{fmt.Sprintf("FEEDPROOF_MUTANT=%d:%d", c.ID, c.Alt), "FEEDPROOF_RULES=" + strings.Join(c.Rules, " ")}
}

func noticedByOthers(b binaries, env []string) error {
	if err := testRun(b.rules, target, env); err != nil || !thorough {
		return err
	}
	return testRun(b.scenarios, "checklist", env, "-test.run", others)
}

// others are the tests beside scenarios and limits that a survivor must pass.
const others = "^Test(HoldPointStates|WhoMayClose|WhoMaySign|WithoutAReadingNothingIsClean|VoidedReadingsDoNotCount|WorseNeverImproves|TheNeverWaiveListHasNoPath|Logs?.*|Shop.*)$"

// result is the score.
type result struct {
	killed, invalid int
	survivors       []mutant
}

func (r *result) count(c mutant, alive bool) {
	if alive {
		r.survivors = append(r.survivors, c)
		fmt.Println("survived:", c)
		return
	}
	r.killed++
}

// together runs the switchable mutants in one process, begun again behind each
// that ends it, and those that it does not notice against the other tests.
func (r *result) together(b binaries, dir string, list []mutant) error {
	for len(list) > 0 {
		verdicts, err := inOneProcess(b, dir, list)
		if err != nil {
			return err
		}
		for i, lives := range verdicts {
			r.count(list[i], lives && noticedByOthers(b, environment(list[i])) == nil)
		}
		list = list[len(verdicts):]
		if len(list) > 0 {
			r.count(list[0], false) // it ended the process
			list = list[1:]
		}
	}
	return nil
}

// inOneProcess says of each mutant, as far as the process came, whether it
// lives.
func inOneProcess(b binaries, dir string, list []mutant) ([]bool, error) {
	in, out := filepath.Join(dir, "mutants.json"), filepath.Join(dir, "verdicts")
	text, err := json.Marshal(list)
	if err != nil {
		return nil, err
	}
	if err := errors.Join(os.WriteFile(in, text, 0o600), os.WriteFile(out, nil, 0o600)); err != nil {
		return nil, err
	}
	cmd := exec.Command(b.scenarios, "-test.run", "^TestMutantsAreNoticed$", "-test.timeout", "3h")
	cmd.Dir = "checklist"
	cmd.Env = append(os.Environ(), "FEEDPROOF_MUTANTS="+in, "FEEDPROOF_VERDICTS="+out)
	_ = cmd.Run() // a mutant may end it: the verdicts say how far it came
	if text, err = os.ReadFile(out); err != nil {
		return nil, err
	}
	var verdicts []bool
	for line := range strings.Lines(string(text)) {
		verdicts = append(verdicts, strings.HasSuffix(strings.TrimSpace(line), "true"))
	}
	return verdicts, nil
}

func (r *result) print() error {
	all := r.killed + len(r.survivors)
	if all == 0 {
		return errors.New("nothing was mutated")
	}
	fmt.Printf("%d mutants, %d noticed (%.1f %%), %d survived, %d did not compile\n", all, r.killed, 100*float64(r.killed)/float64(all), len(r.survivors), r.invalid)
	return nil
}

func (c mutant) String() string {
	return fmt.Sprintf("%s: %s -> %s", c.Place, strings.Join(strings.Fields(c.Was), " "), strings.Join(strings.Fields(c.Now), " "))
}
