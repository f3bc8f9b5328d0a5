package bench

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
	task   string   // "Commit"
	size   string   // "vehicles=100", or empty
	who    string   // "feedproof", "git", or empty
	nsOp   float64  // time per operation; 0 where the benchmark withholds it
	ratios []string // what it reported in units that begin with x-, "3.1 x-faster-than-git"
}

var (
	line      = regexp.MustCompile(`^Benchmark(\S+)\s+\d+\s+(\S+ \S+.*)`)
	processes = regexp.MustCompile(`-\d+$`)
)

// parse reads the lines of go test -bench and leaves out all others.
func parse(text string) []result {
	var out []result
	for l := range strings.Lines(text) {
		m := line.FindStringSubmatch(l)
		if m == nil {
			continue
		}
		r := named(processes.ReplaceAllString(m[1], ""))
		words := strings.Fields(m[2])
		for i := 0; i+1 < len(words); i += 2 {
			value, unit := words[i], words[i+1]
			switch {
			case unit == "ns/op":
				r.nsOp, _ = strconv.ParseFloat(value, 64)
			case strings.HasPrefix(unit, "x-"):
				r.ratios = append(r.ratios, value+" "+unit)
			}
		}
		out = append(out, r)
	}
	return out
}

// named takes the name of a benchmark apart.
func named(name string) result {
	var r result
	parts := strings.Split(name, "/")
	if last := parts[len(parts)-1]; len(parts) > 1 && !strings.Contains(last, "=") {
		r.who, parts = last, parts[:len(parts)-1]
	}
	if last := parts[len(parts)-1]; len(parts) > 1 && strings.Contains(last, "=") {
		r.size, parts = last, parts[:len(parts)-1]
	}
	r.task = strings.Join(parts, "/")
	return r
}

// reported lists the ratios that benchmarks took themselves.
func reported(results []result) []string {
	var out []string
	for _, r := range results {
		for _, ratio := range r.ratios {
			out = append(out, strings.Join(strings.Fields(r.task+" "+r.size+" "+r.who), " ")+": "+ratio)
		}
	}
	return out
}

// rivals compares others at the same task and size with ours.
func rivals(results []result) []string {
	var out []string
	for _, our := range results {
		if our.who != ours || our.nsOp == 0 {
			continue
		}
		for _, other := range results {
			if other.task == our.task && other.size == our.size && other.who != ours && other.nsOp > 0 {
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
		if r.size != "" && base.size != "" && r.nsOp > 0 && base.nsOp > 0 {
			out = append(out, fmt.Sprintf("%s: %s takes %.2f x %s", strings.TrimSpace(r.task+" "+r.who), r.size, r.nsOp/base.nsOp, base.size))
		}
	}
	return out
}
