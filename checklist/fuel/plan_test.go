package fuel

import "testing"

func BenchmarkPlan(b *testing.B) {
	s := turboFour()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Plan(s); err != nil {
			b.Fatal(err)
		}
	}
}
