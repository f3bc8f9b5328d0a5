package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"strconv"
	"strings"
	"syscall"
	"unicode/utf8"

	"feedproof/cmd/internal/terminal"
	"feedproof/records"
	"feedproof/schema"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// Exit codes, as the help of every command lists them.
const (
	exitDone      = 0
	exitFailed    = 1
	exitUsage     = 2
	exitRefused   = 3
	exitNotProven = 4
	exitBusy      = 5
)

// trouble is a failure that knows the command that mends it.
type trouble struct {
	text string
	fix  string
	exit int
}

func (t *trouble) Error() string { return t.text }

// wrong is a mistake in what was typed.
func wrong(fix, format string, args ...any) error {
	return &trouble{text: fmt.Sprintf(format, args...), fix: fix, exit: exitUsage}
}

// failed is something that did not work out.
func failed(fix, format string, args ...any) error {
	return &trouble{text: fmt.Sprintf(format, args...), fix: fix, exit: exitFailed}
}

// refused says that findings stand in the way. They are shown first.
type refused struct {
	what  string
	found []schema.Finding
	fix   string
}

func (r *refused) Error() string { return r.what }

// readable refuses words that are not UTF-8: a record could not keep them as
// they were typed.
func readable(args []string) error {
	for _, word := range args {
		if !utf8.ValidString(word) {
			return wrong("set the terminal to UTF-8 and type it again", "%s: is not UTF-8 text", strings.ToValidUTF8(word, "?"))
		}
	}
	return nil
}

// flagError says which flag has what wrong with it.
func flagError(c *cobra.Command, err error) error {
	fix := c.CommandPath() + " --help"
	var invalid *pflag.InvalidValueError
	var number *strconv.NumError
	switch {
	case errors.As(err, &invalid) && errors.As(err, &number):
		return wrong(fix, "--%s: %q is not a whole number", invalid.GetFlag().Name, number.Num)
	case invalid != nil:
		return wrong(fix, "--%s: %v", invalid.GetFlag().Name, invalid.Unwrap())
	}
	return wrong(fix, "%v", err)
}

// takes demands so many arguments, named in the message.
func takes(names ...string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) < len(names) {
			return wrong(c.CommandPath()+" --help", "%s: is missing", names[len(args)])
		}
		if len(args) > len(names) {
			return wrong(c.UseLine(), "%s: is one word too many; put quotes around a value with spaces", args[len(names)])
		}
		return nil
	}
}

// takesAtLeast demands the named arguments and lets more follow.
func takesAtLeast(names ...string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		return takes(names...)(c, args[:min(len(args), len(names))])
	}
}

func noSuchCommand(c *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	return wrong(c.CommandPath()+" --help", "%s %s: is not a command", c.CommandPath(), args[0])
}

// report is the one place that prints a failure and picks the exit code.
func (a *app) report(err error) int {
	if err == nil {
		return exitDone
	}
	if a.Screen == nil {
		a.look()
	}
	t := a.explainFailure(err)
	found := findingsOf(err)
	if a.flags.json {
		_ = a.JSON(struct {
			terminal.Trouble
			Findings []schema.Finding `json:"findings,omitempty"`
		}{t, found})
		return t.Exit
	}
	a.Findings(found)
	a.Fail(t)
	return t.Exit
}

func findingsOf(err error) []schema.Finding {
	var mine *refused
	var gate *records.RefusedError
	switch {
	case errors.As(err, &mine):
		return mine.found
	case errors.As(err, &gate):
		return gate.Findings
	}
	return nil
}

// explainFailure turns an error into its text, its mending and its exit code.
func (a *app) explainFailure(err error) terminal.Trouble {
	var own *trouble
	var mine *refused
	var gate *records.RefusedError
	var role *records.RoleError
	var broken *records.VerifyError
	var invalid *schema.InvalidError
	t := terminal.Trouble{Text: err.Error(), Exit: exitFailed}
	fix, exit, isRemote := syncTrouble(err)
	switch {
	case errors.As(err, &own):
		t.Fix, t.Exit = own.fix, own.exit
	case errors.As(err, &mine):
		t.Fix, t.Exit = mine.fix, exitRefused
	case errors.As(err, &gate):
		t.Text, t.Exit = "refused", exitRefused
	case errors.As(err, &role):
		t.Exit = exitRefused
	case errors.As(err, &broken):
		t.Exit = exitNotProven
	case errors.As(err, &invalid):
		t.Text, t.Exit = strings.Join(plainProblems(invalid.Problems), "; "), exitUsage
	case isRemote:
		t.Fix, t.Exit = fix, exit
	case errors.Is(err, records.ErrBusy):
		t.Exit = exitBusy
	case errors.Is(err, fs.ErrPermission):
		t.Fix = "ls -ld the folder: nothing was written; make it writable for this user, or copy the shop to a disk that is"
	case errors.Is(err, syscall.ENOSPC):
		t.Fix = "df -h the folder: what was acknowledged before is safe, this was not recorded; free some space, then type it again"
	case strings.HasPrefix(t.Text, "unknown command"):
		t.Fix, t.Exit = "feedproof --help", exitUsage
	case strings.HasPrefix(t.Text, notTogether):
		t.Text, t.Fix, t.Exit = eitherOr(t.Text), a.asking.CommandPath()+" --help", exitUsage
	}
	return t
}

// notTogether begins cobra's own words for flags that exclude each other.
const notTogether = "if any flags in the group ["

// eitherOr says in plain words which flags exclude each other: cobra ends with
// "; [na seen] were all set".
func eitherOr(text string) string {
	_, given, _ := strings.Cut(text, "; [")
	given, _, _ = strings.Cut(given, "]")
	return "--" + strings.ReplaceAll(given, " ", " and --") + ": only one of them can be given"
}

// plainProblems takes the id of an entry that was never written out of what is
// wrong with it.
func plainProblems(problems []string) []string {
	out := make([]string, len(problems))
	for i, p := range problems {
		if _, rest, ok := strings.Cut(p, "): "); ok && strings.HasPrefix(p, "entry ") {
			p = rest
		}
		out[i] = p
	}
	return out
}
