package datalog

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// randomCar invents a car with one fault: base pressure, boost, size of the
// fault, noise, resolution, rate and length of pull are drawn.
func randomCar(fault string, random *rand.Rand) drive {
	between := func(low, high float64) float64 { return low + (high-low)*random.Float64() }
	d := drive{
		seed: random.Uint64(), pulls: 1, base: between(2.8, 4.2), boost: between(0.9, 1.2), noise: between(0.004, 0.015),
		quantum: between(0.001, 0.01), rate: []float64{10, 20, 50, 100}[random.IntN(4)], pullTime: between(5, 10),
	}
	base, top := d.base, 291*d.boost
	size := between(0.15, 0.45) // bar lost at the top
	switch fault {
	case "S01":
		// The plateau starts below the top by what is lost there.
		d.fault = func(mapKPa, _, _ float64) float64 { return base - max(0, (mapKPa-(top-100*size))/100) }
	case "S02":
		from := between(0.87, 0.93)
		d.fault = func(_, flow, _ float64) float64 { return base - max(0, flow-from)*size/(1-from) }
	case "S03":
		d.fault = func(_, flow, _ float64) float64 { return base - size*flow*flow }
	case "S04":
		lost := between(1.0, 1.8)
		d.volts = func(rpm float64) float64 { return 13.6 - lost*math.Min((rpm-3000)/4000, 1) }
		from := 13.6 - lost*0.8
		d.fault = func(_, _, volts float64) float64 { return base - max(0, from-volts)*size/(0.2*lost) }
	case "S05":
		d.fault = func(mapKPa, _, _ float64) float64 { return base - size*(mapKPa-testBaro)/(top-testBaro) }
	case "S06":
		d.fault = func(_, _, _ float64) float64 { return base - size }
	default:
		d.fault = func(_, _, _ float64) float64 { return base }
	}
	return d
}

// TestConfusion names the faults of 203 random cars and logs the table of what
// was there against what was named first. The cars are invented: the table
// says that the tests of the signatures hold together, not how often they are
// right on real cars.
func TestConfusion(t *testing.T) {
	faults := []string{"none", "S01", "S02", "S03", "S04", "S05", "S06"}
	random := rand.New(rand.NewPCG(2026, 3))
	const each = 29
	table := map[[2]string]int{}
	for _, fault := range faults {
		for range each {
			d := randomCar(fault, random)
			r := analyse(t, d, testConditions)
			first := "none"
			if named := r.Named(); len(named) > 0 {
				first = named[0].ID
			}
			table[[2]string{fault, first}]++
			if first != fault {
				t.Logf("%s named %s: base %.2f boost %.2f rate %v noise %.3f pull %.1f s\n%s", fault, first, d.base, d.boost, d.rate, d.noise, d.pullTime, describe(r))
			}
		}
	}
	columns := append(faults, "S08", "S09", "S10", "S13", "S14", "S15")
	var b strings.Builder
	fmt.Fprintf(&b, "%6s", "")
	for _, c := range columns {
		fmt.Fprintf(&b, "%6s", c)
	}
	for _, fault := range faults {
		fmt.Fprintf(&b, "\n%6s", fault)
		for _, c := range columns {
			fmt.Fprintf(&b, "%6d", table[[2]string{fault, c}])
		}
		if right := table[[2]string{fault, fault}]; right < each*95/100 {
			t.Errorf("%s is named in %d of %d cars", fault, right, each)
		}
	}
	t.Log("\n" + b.String())
}
