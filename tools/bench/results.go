package main

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// ours is the sub-benchmark that runs this program.
const ours = "feedproof"

// result is one line of go test -bench, its name taken apart.
type result struct {
	task string  // "Commit"
	size string  // "vehicles=100", or empty
	who  string  // "feedproof", "git", or empty
	nsOp float64 // time per operation
}

var line = regexp.MustCompile(`^Benchmark(\S+?)(?:-\d+)?\s+\d+\s+([0-9.e+]+) ns/op`)

// parse reads the lines of go test -bench and leaves out all others.
func parse(text string) []result {
	var out []result
	for l := range strings.Lines(text) {
		m := line.FindStringSubmatch(l)
		if m == nil {
			continue
		}
		ns, err := strconv.ParseFloat(m[2], 64)
		if err != nil || ns <= 0 {
			continue
		}
		r := result{nsOp: ns}
		parts := strings.Split(m[1], "/")
		if last := parts[len(parts)-1]; len(parts) > 1 && !strings.Contains(last, "=") {
			r.who, parts = last, parts[:len(parts)-1]
		}
		if last := parts[len(parts)-1]; len(parts) > 1 && strings.Contains(last, "=") {
			r.size, parts = last, parts[:len(parts)-1]
		}
		r.task = strings.Join(parts, "/")
		out = append(out, r)
	}
	return out
}

// rivals compares others at the same task and size with ours.
func rivals(results []result) []string {
	var out []string
	for _, our := range results {
		if our.who != ours {
			continue
		}
		for _, other := range results {
			if other.task == our.task && other.size == our.size && other.who != ours {
				out = append(out, fmt.Sprintf("%s: %s takes %.2f x %s", strings.TrimSpace(our.task+" "+our.size), other.who, other.nsOp/our.nsOp, ours))
			}
		}
	}
	return out
}

// sizes compares each size with the first one of the same task and runner.
func sizes(results []result) []string {
	var out []string
	first := map[[2]string]result{}
	for _, r := range results {
		key := [2]string{r.task, r.who}
		base, seen := first[key]
		if !seen {
			first[key] = r
			continue
		}
		if r.size != "" && base.size != "" {
			out = append(out, fmt.Sprintf("%s: %s takes %.2f x %s", strings.TrimSpace(r.task+" "+r.who), r.size, r.nsOp/base.nsOp, base.size))
		}
	}
	return out
}
