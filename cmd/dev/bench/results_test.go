package bench

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// As go1.26 test -bench prints, with the numbers of an invented run.
const printed = `goos: linux
pkg: feedproof/records
BenchmarkCommit/vehicles=100/feedproof-2     	     100	   2000000 ns/op	    1024 B/op	      12 allocs/op
BenchmarkCommit/vehicles=100/git-2           	      10	  30000000 ns/op
BenchmarkCommit/vehicles=50000/feedproof-2   	     100	   3000000 ns/op	 1.50 p95-ms
BenchmarkCommit/vehicles=50000/git-2         	       1	 900000000 ns/op
BenchmarkNetwork-2                           	   50000	     19800.5 ns/op	       0 B/op
BenchmarkLog-2   	 1	 0 ns/op	 0.51 cpu-s/op	 4.2 x-encoding-csv	 0.48 x-awk	 12 B/op	 1 allocs/op
BenchmarkRead/feedproof                      	    1000	      1000 ns/op
BenchmarkRead/encoding-csv                   	    1000	      4000 ns/op
PASS
ok  	feedproof/records	4.2s
`

func TestRatios(t *testing.T) {
	results := parse(printed)
	if len(results) != 8 {
		t.Fatalf("parsed %d results of 8: %v", len(results), results)
	}
	want := []string{
		"Log: 4.2 x-encoding-csv",
		"Log: 0.48 x-awk",
		"Commit vehicles=100: git takes 15.00 x feedproof",
		"Commit vehicles=50000: git takes 300.00 x feedproof",
		"Read: encoding-csv takes 4.00 x feedproof",
		"Commit feedproof: vehicles=50000 takes 1.50 x vehicles=100",
		"Commit git: vehicles=50000 takes 30.00 x vehicles=100",
	}
	if diff := cmp.Diff(want, slices.Concat(reported(results), rivals(results), sizes(results))); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if got := parse("BenchmarkBroken\n--- FAIL: BenchmarkBroken\nok feedproof 1s\n"); got != nil {
		t.Errorf("lines without a result gave %v", got)
	}
}

func TestPercentile(t *testing.T) {
	var twenty []time.Duration
	for i := range 20 {
		twenty = append(twenty, time.Duration(20-i)*time.Millisecond)
	}
	for p, want := range map[int]time.Duration{1: 1, 50: 10, 95: 19, 100: 20} {
		if got := percentile(twenty, p); got != want*time.Millisecond {
			t.Errorf("%d %% of 1 to 20 ms is %v", p, got)
		}
	}
}
