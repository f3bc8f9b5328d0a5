// Package tool picks the developers' tool that the first argument names.
//
// Start with [Main]. A tool is one package with a Run and one row of the table
// here. What is deliberately absent: any work of its own.
package tool

import (
	"errors"
	"flag"
	"fmt"
	"io"

	"feedproof/cmd/dev/bench"
	"feedproof/cmd/dev/examples"
	"feedproof/cmd/dev/growth"
	"feedproof/cmd/dev/house"
	"feedproof/cmd/dev/invent"
	"feedproof/cmd/dev/manual"
	"feedproof/cmd/dev/mutate"
	"feedproof/cmd/dev/release"
	"feedproof/cmd/dev/schemas"
)

// tool is a name, what it is for, and what it runs.
type tool struct {
	name, about string
	run         func(args []string, out io.Writer) error
}

var tools = []tool{
	{"bench", "run every benchmark and print the ratios", bench.Run},
	{"examples", "sign the example records of the format anew", examples.Run},
	{"growth", "measure shops of several sizes", growth.Run},
	{"house", "draw the packages and their imports into DEVELOPERS.md", house.Run},
	{"invent", "make an invented shop", invent.Run},
	{"manual", "write manual pages and reference.md", manual.Run},
	{"mutate", "break the rules and see what the tests notice", mutate.Run},
	{"release", "make archives, packages and checksums of the commit", release.Run},
	{"schemas", "write the JSON Schemas from the types", schemas.Run},
}

// Main runs a tool and returns the exit code: 0 done, 1 failed, 2 wrong usage.
func Main(args []string, out, complaints io.Writer) int {
	t, ok := find(args)
	if !ok {
		usage(complaints)
		return 2
	}
	err := t.run(args[1:], out)
	switch {
	case errors.Is(err, flag.ErrHelp):
		return 2
	case err != nil:
		fmt.Fprintf(complaints, "%s: %v\n", t.name, err)
		return 1
	}
	return 0
}

func find(args []string) (tool, bool) {
	for _, t := range tools {
		if len(args) > 0 && t.name == args[0] {
			return t, true
		}
	}
	return tool{}, false
}

func usage(out io.Writer) {
	fmt.Fprintln(out, "usage: go run ./cmd/dev TOOL [flags]")
	for _, t := range tools {
		fmt.Fprintf(out, "  %-8s %s\n", t.name, t.about)
	}
}
