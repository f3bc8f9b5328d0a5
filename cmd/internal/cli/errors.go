package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
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

// exits are the exit codes of the sorts of failure.
var exits = map[desk.Kind]int{desk.Failed: exitFailed, desk.Usage: exitUsage, desk.Refused: exitRefused, desk.NotProven: exitNotProven, desk.Busy: exitBusy}

// wrong is a mistake in what was typed.
func wrong(fix, format string, args ...any) error {
	return &desk.Error{Wrong: fmt.Sprintf(format, args...), Mend: fix, Kind: desk.Usage}
}

// failed is something that did not work out.
func failed(fix, format string, args ...any) error {
	return &desk.Error{Wrong: fmt.Sprintf(format, args...), Mend: fix}
}

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

// either lets only one of some flags be given.
func either(c *cobra.Command, flags ...string) {
	c.MarkFlagsMutuallyExclusive(flags...) // so that the shell offers no second one
	others := c.PreRunE
	c.PreRunE = func(c *cobra.Command, args []string) error {
		given := slices.DeleteFunc(slices.Sorted(slices.Values(flags)), func(f string) bool { return !c.Flags().Changed(f) })
		if len(given) > 1 {
			return wrong(c.CommandPath()+" --help", "--%s: only one of them can be given", strings.Join(given, " and --"))
		}
		if others != nil {
			return others(c, args)
		}
		return nil
	}
}

// unknownCommand is what the program itself says of words that are no command.
func unknownCommand(c *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	return wrong(c.Name()+" --help", "unknown command %q for %q", args[0], c.CommandPath())
}

func noSuchCommand(c *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	return wrong(c.CommandPath()+" --help", "%s %s: is not a command", c.CommandPath(), args[0])
}

// report is the one place that prints a failure and picks the exit code.
func report(out *terminal.Screen, err error) int {
	if err == nil {
		err = out.Answer()
	}
	if err == nil {
		return exitDone
	}
	t, found := explainFailure(err)
	if out.AsJSON() {
		_ = out.JSON(failureJSON{t, found, out.Taken()})
		_ = out.Answer()
		return t.Exit
	}
	out.Findings(found)
	out.Fail(t)
	return t.Exit
}

// failureJSON is a failure as --json prints it.
type failureJSON struct {
	terminal.Trouble
	Findings []schema.Finding `json:"findings,omitempty"`
	Done     json.RawMessage  `json:"done,omitempty"` // what was answered before it failed
}

// explainFailure turns an error into its text, its mending and its exit code,
// and what stands in the way.
func explainFailure(err error) (terminal.Trouble, []schema.Finding) {
	e := desk.Explain(err)
	return terminal.Trouble{Text: e.Wrong, Fix: e.Mend, Exit: exits[e.Kind]}, e.Found
}
