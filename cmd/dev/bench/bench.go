// Package bench runs every benchmark of the module and prints, besides what go
// test says, how the program compares: with what a user would otherwise run,
// with itself at another size, and its start with that of a program that does
// nothing.
//
// A benchmark takes part by reporting a metric whose unit begins with x-, such as
// x-faster-than-git, or by the names of its sub-benchmarks: the last is who
// does the work, feedproof being ours, and one before it may be a size, as in
// BenchmarkCommit/vehicles=100/feedproof and BenchmarkCommit/vehicles=100/git.
package bench

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"slices"
)

// Run measures and prints. It takes no arguments.
func Run(args []string, out io.Writer) error {
	if len(args) > 0 {
		return fmt.Errorf("bench: takes no arguments, got %q", args)
	}
	results, err := benchmarks(out)
	if err != nil {
		return err
	}
	fmt.Fprintln(out, "\nratios")
	for _, line := range slices.Concat(reported(results), rivals(results), sizes(results)) {
		fmt.Fprintln(out, " ", line)
	}
	fmt.Fprintln(out, "\nstart-up, whole process")
	return startUp(out)
}

// benchmarks runs them all, passes on what go test prints, and parses it.
func benchmarks(out io.Writer) ([]result, error) {
	var text bytes.Buffer
	cmd := exec.Command("go", "test", "-run", "^$", "-bench", ".", "-benchmem", "-timeout", "2h", "./...")
	cmd.Stdout = io.MultiWriter(out, &text)
	cmd.Stderr = os.Stderr
	if err := cmd.Run(); err != nil {
		return nil, fmt.Errorf("go test: %w", err)
	}
	results := parse(text.String())
	if len(results) == 0 {
		return nil, errors.New("no benchmark was found")
	}
	return results, nil
}
