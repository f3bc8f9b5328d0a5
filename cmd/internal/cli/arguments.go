package cli

import (
	"slices"
	"strings"

	"feedproof/cmd/internal/desk"

	"github.com/spf13/cobra"
)

// asUsed holds the arguments to the command's line of use: words in front of
// the first bracket are needed, those in brackets may be left out, and after
// "..." follow as many as one likes.
func asUsed(c *cobra.Command, args []string) error {
	needed, most, endless := arity(c.Use)
	switch {
	case len(args) < len(needed):
		return wrong(typedAs(c, slices.Concat(args, needed[len(args):])), "%s: is missing", needed[len(args)])
	case len(args) > most && !endless:
		return wrong(typedAs(c, joinedFrom(args, most)), "%s: is one word too many; put quotes around a value with spaces", args[most])
	}
	return nil
}

// arity reads a line of use: the arguments that are needed, how many there can
// be, and whether more may follow.
func arity(use string) (needed []string, most int, endless bool) {
	words := strings.Fields(use)[1:]
	bracket := slices.IndexFunc(words, func(w string) bool { return strings.HasPrefix(w, "[") })
	if bracket < 0 {
		bracket = len(words)
	}
	for i, w := range words {
		switch {
		case strings.HasPrefix(w, "..."):
			endless = true
			continue
		case i < bracket:
			needed = append(needed, w)
		}
		most++
	}
	return needed, most, endless
}

// typedAs is a command line with arguments, as it can be typed.
func typedAs(c *cobra.Command, args []string) string {
	line := c.CommandPath()
	for _, a := range args {
		first, _, _ := strings.Cut(a, "|") // of several ways, and nothing that a shell would take for a pipe
		line += " " + desk.Quoted(first)
	}
	return line
}

// joinedFrom has the words that are too many in the last argument that can be.
func joinedFrom(args []string, most int) []string {
	if most == 0 {
		return nil
	}
	return append(slices.Clone(args[:most-1]), strings.Join(args[most-1:], " "))
}

// ownWords has the commands that cobra brings answer as the others do.
func ownWords(root *cobra.Command) {
	root.InitDefaultCompletionCmd()
	root.InitDefaultHelpCmd()
	for _, c := range root.Commands() {
		switch c.Name() {
		case "help":
			c.Args = aCommand
		case "completion":
			c.Args, c.RunE = noSuchCommand, func(c *cobra.Command, _ []string) error { return c.Help() }
			for _, shell := range c.Commands() {
				shell.Args = asUsed
			}
		}
	}
}

// aCommand wants words that name one, or none.
func aCommand(c *cobra.Command, args []string) error {
	found, rest, err := c.Root().Find(args)
	if err == nil && len(rest) == 0 && (found != c.Root() || len(args) == 0) {
		return nil
	}
	return wrong(c.Root().Name()+" --help", "%s: is not a command", strings.Join(args, " "))
}
