package bench

import (
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"time"
)

const starts = 41 // odd, so that the median is one of them

const nothing = "package bench\n\nimport \"fmt\"\n\nfunc main() { fmt.Println(\"hello\") }\n"

// startUp builds the program and one that only prints, and starts them in turn.
func startUp(out io.Writer) error {
	dir, err := os.MkdirTemp("", "feedproof-bench")
	if err != nil {
		return err
	}
	defer func() { _ = os.RemoveAll(dir) }()
	hello := filepath.Join(dir, "hello.go")
	if err := os.WriteFile(hello, []byte(nothing), 0o644); err != nil {
		return err
	}
	program, floor := filepath.Join(dir, "feedproof.exe"), filepath.Join(dir, "hello.exe")
	if err := build(program, "./cmd/feedproof"); err != nil {
		return err
	}
	if err := build(floor, hello); err != nil {
		return err
	}
	var ours, theirs []time.Duration
	for range starts {
		a, errA := timed(program, "--version")
		b, errB := timed(floor)
		if err := errors.Join(errA, errB); err != nil {
			return fmt.Errorf("starting: %w", err)
		}
		ours, theirs = append(ours, a), append(theirs, b)
	}
	fmt.Fprintf(out, "  feedproof --version: median %v, 95 %% within %v\n", percentile(ours, 50), percentile(ours, 95))
	fmt.Fprintf(out, "  a program that prints hello: median %v, 95 %% within %v\n", percentile(theirs, 50), percentile(theirs, 95))
	fmt.Fprintf(out, "  ratio of medians: %.2f\n", float64(percentile(ours, 50))/float64(percentile(theirs, 50)))
	return nil
}

func build(to, what string) error {
	cmd := exec.Command("go", "build", "-trimpath", "-o", to, what)
	cmd.Stderr = os.Stderr
	if err := cmd.Run(); err != nil {
		return fmt.Errorf("go build %s: %w", what, err)
	}
	return nil
}

func timed(program string, arguments ...string) (time.Duration, error) {
	cmd := exec.Command(program, arguments...)
	begin := time.Now()
	err := cmd.Run()
	return time.Since(begin), err
}

// percentile is the smallest of the durations that p percent of them do not exceed.
func percentile(durations []time.Duration, p int) time.Duration {
	sorted := slices.Sorted(slices.Values(durations))
	rank := (len(sorted)*p + 99) / 100
	return sorted[max(rank, 1)-1].Round(10 * time.Microsecond)
}
