//go:build unix

package main

import (
	"os"
	"testing"
	"time"
)

// BenchmarkWork starts the guided screen on a terminal and changes it, in the
// shop of FEEDPROOF_BENCH_SHOP and with the car of FEEDPROOF_BENCH_CAR, else in
// a small invented one. It reports the time from the start of the process until
// the page stands, and from a key until its page does.
func BenchmarkWork(b *testing.B) {
	shop, car := os.Getenv("FEEDPROOF_BENCH_SHOP"), os.Getenv("FEEDPROOF_BENCH_CAR")
	if shop == "" {
		shop, car = twoCars(b), "kestrel"
	}
	warm := sit(b, shop, clock, nil, "work", car) // what a new build makes once is made
	warm.sees("1 RECORD")
	warm.leave()
	var start, change time.Duration
	changes := 0
	for b.Loop() {
		from := time.Now()
		s := sit(b, shop, clock, nil, "work", car)
		s.sees("1 RECORD")
		start += time.Since(from)
		for range 10 {
			from = time.Now()
			s.press("9")
			s.sees("Everyone out")
			s.press(enter)
			s.sees("1 RECORD")
			change += time.Since(from)
			changes += 2
		}
		s.leave()
	}
	b.ReportMetric(float64(start.Milliseconds())/float64(b.N), "ms/start")
	b.ReportMetric(float64(change.Milliseconds())/float64(changes), "ms/change")
	b.ReportMetric(0, "ns/op")
}
