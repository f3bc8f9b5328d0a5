package quantity

import (
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// decimal draws a number as a person writes one, with its decimals: up to five
// figures before the point and four after it, so 9 figures at most.
func decimal(t *rapid.T) (text string, decimals int) {
	whole := rapid.IntRange(0, 99_999).Draw(t, "whole")
	decimals = rapid.IntRange(0, 4).Draw(t, "decimals")
	text = strconv.Itoa(whole)
	if decimals > 0 {
		var figures strings.Builder
		for range decimals {
			figures.WriteByte(byte('0' + rapid.IntRange(0, 9).Draw(t, "figure")))
		}
		text += "." + figures.String()
	}
	return text, decimals
}

// forEachUnit runs a law for every spelling of every unit of every type.
func forEachUnit(t *testing.T, law func(t *rapid.T, k kind, unit string)) {
	tried := 0
	for _, k := range kinds {
		for _, unit := range Spellings(k.dimension) {
			tried++
			t.Run(k.name+"/"+strings.ReplaceAll(unit, "/", "|"), rapid.MakeCheck(func(t *rapid.T) { law(t, k, unit) }))
		}
	}
	if tried < len(kinds) {
		t.Errorf("tried %d units of %d types", tried, len(kinds))
	}
}

// TestRoundTrip: what is written, computed in SI and written again in the same
// unit with the same decimals is the same text.
func TestRoundTrip(t *testing.T) {
	forEachUnit(t, func(t *rapid.T, k kind, unit string) {
		text, decimals := decimal(t)
		negative := rapid.Bool().Draw(t, "negative") && !strings.Contains(unit, "vac") && strings.Trim(text, "0.") != ""
		if negative {
			text = "-" + text
		}
		w, err := Read(text + " " + unit)
		if err != nil {
			t.Fatal(err)
		}
		si, err := k.of(w)
		if err != nil {
			t.Fatal(err)
		}
		if got := k.write(si, unit, decimals); got != w {
			t.Fatalf("%s is %v in SI, written again %s", w, si, got)
		}
		if got := k.format(si, unit, decimals); got != w.String() {
			t.Fatalf("%s is %v in SI, printed %s", w, si, got)
		}
		again, err := Read(k.text(si))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := k.of(again); err != nil {
			t.Fatalf("the usual print of %s cannot be read: %v", w, err)
		}
	})
}

// TestOrder: a larger number is a larger quantity, or a deeper vacuum.
func TestOrder(t *testing.T) {
	forEachUnit(t, func(t *rapid.T, k kind, unit string) {
		low := rapid.IntRange(0, 99_998).Draw(t, "low")
		high := rapid.IntRange(low+1, 99_999).Draw(t, "high")
		a, errA := k.of(Written{strconv.Itoa(low), unit})
		b, errB := k.of(Written{strconv.Itoa(high), unit})
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		if vacuum := strings.Contains(unit, "vac"); (a < b) == vacuum {
			t.Fatalf("%d %s is %v, %d %s is %v", low, unit, a, high, unit, b)
		}
	})
}

// TestResolutionBounds: half the last digit is the distance to the middle
// between two neighbouring texts.
func TestResolutionBounds(t *testing.T) {
	forEachUnit(t, func(t *rapid.T, k kind, unit string) {
		tenths := rapid.IntRange(0, 9_998).Draw(t, "tenths")
		write := func(n int) Written { return Written{strconv.Itoa(n/10) + "." + strconv.Itoa(n%10), unit} }
		a, errA := k.of(write(tenths))
		b, errB := k.of(write(tenths + 1))
		half, err := k.resolution(write(tenths))
		if errA != nil || errB != nil || err != nil {
			t.Fatal(errA, errB, err)
		}
		step := b - a
		if strings.Contains(unit, "vac") {
			step = a - b
		}
		if tolerance := 1e-9*step + 1e-12*max(a, -a); step-2*half > tolerance || 2*half-step > tolerance {
			t.Fatalf("%s steps by %v and resolves %v", unit, step, half)
		}
	})
}

// TestReferences: gauge and vacuum are mirror images, and an absolute pressure
// is a gauge pressure over a barometer and back.
func TestReferences(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text, _ := decimal(t)
		symbol := rapid.SampledFrom(Symbols(dimGauge)).Draw(t, "symbol")
		gauge, errG := Parse[Gauge](text + " " + symbol + " gauge")
		vacuum, errV := Parse[Gauge](text + " " + symbol + " vacuum")
		absolute, errA := Parse[Absolute](text + " " + symbol + " abs")
		difference, errD := Parse[Difference](text + " " + symbol)
		if errG != nil || errV != nil || errA != nil || errD != nil {
			t.Fatal(errG, errV, errA, errD)
		}
		if vacuum != -gauge || float64(absolute) != float64(gauge) || float64(difference) != float64(gauge) {
			t.Fatalf("%s %s: gauge %v, vacuum %v, absolute %v, difference %v", text, symbol, gauge, vacuum, absolute, difference)
		}
		barometer := Absolute(rapid.Float64Range(70e3, 105e3).Draw(t, "barometer"))
		if back := gauge.Above(barometer).Over(barometer); !near(float64(back), float64(gauge), 1e-9) && back-gauge > 1e-6 {
			t.Fatalf("%v Pa over a barometer and back is %v", float64(gauge), float64(back))
		}
	})
}
