package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

func TestArity(t *testing.T) {
	for _, c := range []struct {
		use     string
		needed  []string
		most    int
		endless bool
	}{
		{"list", nil, 0, false},
		{"check CAR", []string{"CAR"}, 1, false},
		{"check ID bump|zero", []string{"ID", "bump|zero"}, 2, false},
		{"fit CAR POSITION [PART]", []string{"CAR", "POSITION"}, 3, false},
		{"note CAR TEXT ...", []string{"CAR", "TEXT"}, 2, true},
		{"read CAR TEST [NAME=]VALUE ...", []string{"CAR", "TEST"}, 3, true},
		{"step CAR [STEP ...]", []string{"CAR"}, 2, true},
		{"ask [QUESTION] [ARGUMENT ...]", nil, 2, true},
	} {
		needed, most, endless := arity(c.use)
		if diff := cmp.Diff(c.needed, needed); diff != "" || most != c.most || endless != c.endless {
			t.Errorf("%s: %v, %d, %v", c.use, needed, most, endless)
		}
	}
}

// Every command with too few and with too many arguments answers in our words,
// with exit code 2, the thing first and then a line that it would take.
func TestEveryArity(t *testing.T) {
	few, many := 0, 0
	everyWithCobras(t, func(c *cobra.Command) {
		path := strings.Fields(c.CommandPath())[1:]
		needed, most, endless := arity(c.Use)
		if c.HasSubCommands() {
			needed, most, endless = nil, 0, false
		}
		for n := range needed {
			few++
			arityAnswer(t, append(slices.Clone(path), words(n)...), needed[n]+": is missing")
		}
		if !endless && c.Name() != "help" {
			many++
			arityAnswer(t, append(slices.Clone(path), words(most+1)...), "word"+strings.Repeat("d", most))
		}
	})
	if few < 40 || many < 40 {
		t.Errorf("only %d and %d", few, many)
	}
	arityAnswer(t, []string{"help", "wodr"}, "wodr: is not a command")
}

// words are arguments that no command is named by.
func words(n int) (out []string) {
	for i := range n {
		out = append(out, "word"+strings.Repeat("d", i))
	}
	return out
}

// everyWithCobras is [every], with the commands that cobra brings.
func everyWithCobras(t *testing.T, f func(*cobra.Command)) {
	t.Helper()
	seen := map[string]bool{}
	every(t, func(c *cobra.Command) {
		if c.Parent() == nil {
			ownWords(c)
		}
		seen[c.Name()] = true
		f(c)
	})
	if !seen["help"] || !seen["bash"] {
		t.Error("help or completion is not among them")
	}
}

func arityAnswer(t *testing.T, args []string, names string) {
	t.Helper()
	var out bytes.Buffer
	w := World{Out: &out, Err: &out, Dir: t.TempDir(), Getenv: func(string) string { return "" }, Now: time.Now}
	line := strings.Join(args, " ")
	exit := Main(w, append(slices.Clone(args), "--json"))
	var got struct{ Error, Fix string }
	if err := json.Unmarshal(out.Bytes(), &got); err != nil || exit != exitUsage {
		t.Errorf("%s: exit code %d, %v: %s", line, exit, err, out.String())
		return
	}
	if !strings.Contains(got.Error, names) {
		t.Errorf("%s: says %q, which does not name %s", line, got.Error, names)
	}
	for _, word := range []string{"arg(s)", "accepts", "received"} {
		if strings.Contains(got.Error, word) {
			t.Errorf("%s: answers in cobra's words: %s", line, got.Error)
		}
	}
	mended, rest, err := (&app{World: w}).root().Find(demoArgs(got.Fix)[1:])
	if err == nil && mended.Parent() != nil {
		err = mended.ParseFlags(rest)
		switch {
		case errors.Is(err, pflag.ErrHelp):
			err = nil
		case err == nil:
			err = mended.ValidateArgs(mended.Flags().Args())
		}
	}
	if err != nil {
		t.Errorf("%s: is mended by %q: %v", line, got.Fix, err)
	}
}
