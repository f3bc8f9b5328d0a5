package datalog

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"feedproof/checklist/datalogtest"
	"feedproof/schema/quantity"
)

// TestRunningMedian holds the largest running median to a plain one: sort the
// samples of each window and take the middle.
func TestRunningMedian(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rate := rapid.SampledFrom([]float64{5, 10, 20, 50, 100, 333, 1000}).Draw(t, "rate")
		values := rapid.SliceOfN(rapid.Float64Range(-100, 100), 1, 400).Draw(t, "values")
		if rapid.Bool().Draw(t, "coarse") {
			for i := range values {
				values[i] = math.Round(values[i] / 20)
			}
		}
		var m runningMedian
		var got, want extreme
		for i, v := range values {
			at := float64(i) / rate
			m.into(&got, at, v)
			if w, ok := plainMedian(values[:i+1], rate); ok {
				want.add(at, w)
			}
		}
		if got != want {
			t.Fatalf("rate %v: %+v, by sorting %+v", rate, got, want)
		}
	})
}

// plainMedian is the median of the samples of the last 0.3 s, three at least.
func plainMedian(values []float64, rate float64) (float64, bool) {
	n := max(int(math.Ceil(0.3*rate-1e-6)), 3)
	if len(values) < n {
		return 0, false
	}
	last := slices.Sorted(slices.Values(values[len(values)-n:]))
	return (last[(n-1)/2] + last[n/2]) / 2, true
}

// TestMedianIsShort: a spike of half a window does not count, a dip of a window
// does (trade notes, case T011: 0.15 s at 96 % duty is no finding).
func TestMedianIsShort(t *testing.T) {
	for _, test := range []struct{ length, want float64 }{{0.13, 0.84}, {0.30, 0.96}} {
		var m runningMedian
		var worst extreme
		for i := range 200 {
			at := float64(i) / 50
			v := 0.84
			if at >= 2 && at < 2+test.length {
				v = 0.96
			}
			m.into(&worst, at, v)
		}
		if worst.value != test.want {
			t.Errorf("%v s at 96 %%: worst %v, want %v", test.length, worst.value, test.want)
		}
	}
}

// norris is the data set Norris of NIST's Statistical Reference Datasets for
// linear regression, with its certified values (itl.nist.gov/div898/strd).
var norris = [][2]float64{
	{0.2, 0.1}, {337.4, 338.8}, {118.2, 118.1}, {884.6, 888.0}, {10.1, 9.2}, {226.5, 228.1}, {666.3, 668.5}, {996.3, 998.5}, {448.6, 449.1},
	{777.0, 778.9}, {558.2, 559.2}, {0.4, 0.3}, {0.6, 0.1}, {775.5, 778.1}, {666.9, 668.8}, {338.0, 339.3}, {447.5, 448.9}, {11.6, 10.8},
	{556.0, 557.7}, {228.1, 228.3}, {995.8, 998.0}, {887.6, 888.8}, {120.2, 119.6}, {0.3, 0.3}, {0.3, 0.6}, {556.8, 557.6}, {339.1, 339.3},
	{887.2, 888.0}, {999.0, 998.5}, {779.0, 778.9}, {11.1, 10.2}, {118.3, 117.6}, {229.2, 228.9}, {669.1, 668.4}, {448.9, 449.2}, {0.5, 0.2},
}

func TestLineAgainstNIST(t *testing.T) {
	var m moments
	for _, p := range norris {
		m.add(p[0], p[1])
	}
	for _, c := range []struct {
		what             string
		got, want, digit float64
	}{
		{"slope", m.slope(), 1.00211681802045, 1e-13},
		{"intercept", m.intercept(), -0.262323073774029, 1e-11},
		{"R2", m.r2(), 0.999993745883712, 1e-13},
	} {
		if math.Abs(c.got-c.want) > c.digit {
			t.Errorf("%s %.15g, certified %.15g", c.what, c.got, c.want)
		}
	}
}

// TestLineAgainstGonum also takes the sums in two parts and merges them.
func TestLineAgainstGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 60).Draw(t, "n")
		x := rapid.SliceOfN(rapid.Float64Range(0, 1000), n, n).Draw(t, "x")
		y := rapid.SliceOfN(rapid.Float64Range(0, 1000), n, n).Draw(t, "y")
		if slices.Max(x)-slices.Min(x) < 1 || slices.Max(y)-slices.Min(y) < 1 {
			return
		}
		var whole, left, right moments
		for i := range x {
			whole.add(x[i], y[i])
			if i < n/2 {
				left.add(x[i], y[i])
			} else {
				right.add(x[i], y[i])
			}
		}
		left.merge(right)
		alpha, beta := stat.LinearRegression(x, y, nil, false)
		r2 := stat.RSquared(x, y, nil, alpha, beta)
		for _, m := range []moments{whole, left} {
			if !closeTo(m.slope(), beta, 1e-8) || !closeTo(m.intercept(), alpha, 1e-8) || !closeTo(m.r2(), r2, 1e-8) || !closeTo(m.deviationY(), stat.StdDev(y, nil), 1e-8) {
				t.Fatalf("%v %v %v %v, gonum %v %v %v %v", m.slope(), m.intercept(), m.r2(), m.deviationY(), beta, alpha, r2, stat.StdDev(y, nil))
			}
		}
	})
}

func closeTo(a, b, tolerance float64) bool {
	return math.Abs(a-b) <= tolerance*math.Max(1, math.Abs(b))
}

// TestAliasFrequency: the trade notes' two cases (calculated there), and the
// folding of the sampled cosine itself: samples of f and of its alias are the
// same.
func TestAliasFrequency(t *testing.T) {
	for _, c := range []struct {
		rpm       float64
		cylinders int
		injection float64
		rates     []float64
		alias     float64
	}{
		{7530, 4, 251, []float64{50, 25}, 1},
		{6000, 8, 400, []float64{10, 20, 50, 100}, 0},
	} {
		f := InjectionFrequency(quantity.EngineSpeed(c.rpm*quantity.RPM), c.cylinders)
		if !closeTo(float64(f), c.injection, 1e-12) {
			t.Errorf("%v rpm, %d cylinders: %v Hz, want %v", c.rpm, c.cylinders, f, c.injection)
		}
		for _, rate := range c.rates {
			if a := AliasFrequency(f, Hertz(rate)); math.Abs(float64(a)-c.alias) > 1e-9 {
				t.Errorf("%v Hz sampled at %v: %v Hz, want %v", f, rate, a, c.alias)
			}
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.Float64Range(0, 2000).Draw(t, "f")
		rate := rapid.Float64Range(1, 1000).Draw(t, "rate")
		alias := float64(AliasFrequency(Hertz(f), Hertz(rate)))
		if alias < 0 || alias > rate/2+1e-9 {
			t.Fatalf("%v Hz at %v folds to %v", f, rate, alias)
		}
		for k := range 50 {
			at := 2 * math.Pi * float64(k) / rate
			if math.Abs(math.Cos(f*at)-math.Cos(alias*at)) > 1e-6 {
				t.Fatalf("sample %d of %v Hz at %v differs from %v Hz", k, f, rate, alias)
			}
		}
	})
	if a := AliasFrequency(100, 0); a == a {
		t.Errorf("a rate of 0 gives %v", a)
	}
}

// TestHistogramMedian is off by less than a bin from the sorted middle.
func TestHistogramMedian(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.Float64Range(0, 99), 1, 300).Draw(t, "values")
		h := newHistogram(0, 100, 0.5)
		for _, v := range values {
			h.add(v)
		}
		slices.Sort(values)
		if got, want := h.median(), values[(len(values)-1)/2]; math.Abs(got-want) > 0.5 {
			t.Fatalf("median %v, sorted %v", got, want)
		}
	})
	if m := newHistogram(0, 1, 0.1).median(); m == m {
		t.Errorf("the median of nothing is %v", m)
	}
}

// TestWave: T040 of the trade notes, 7530 rpm steady with four cylinders at
// 50 Hz. Pulsation of 0.1 bar at the injection frequency shows as 1 Hz and is
// not called hunting; the same wave at another speed is.
func TestWave(t *testing.T) {
	steady := func(rpm, hertz float64) Wave {
		s := spectrum{cylinders: 4}
		random := rand.New(rand.NewPCG(1, 2))
		for i := range 400 {
			at := float64(i) / 50
			s.add(at, 3e5+0.1e5*math.Sin(2*math.Pi*hertz*at)+500*random.NormFloat64(), rpm*quantity.RPM)
		}
		return s.best
	}
	pulsation := steady(7530, 251)
	if !pulsation.Known || math.Abs(float64(pulsation.Frequency)-1) > 0.4 || !pulsation.MayBeAlias {
		t.Errorf("pulsation at 251 Hz: %+v", pulsation)
	}
	if s := quantity.In(pulsation.Swing, "bar"); math.Abs(s-0.2) > 0.02 {
		t.Errorf("0.1 bar each way swings by %v", s)
	}
	for _, hertz := range []float64{1, 4, 8} {
		hunting := steady(7000, hertz) // alias at 16.7 Hz, and of twice it 16.7
		if !hunting.Known || hunting.MayBeAlias || math.Abs(float64(hunting.Frequency)-hertz) > 0.4 {
			t.Errorf("hunting at %v Hz: %+v", hertz, hunting)
		}
	}
	if quiet := steady(7000, 0); quiet.Known {
		t.Errorf("noise of 0.005 bar is a wave: %+v", quiet)
	}
}

// TestLaws: what must not change a result, and what must not improve it.
func TestLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SampledFrom(logCases).Draw(t, "log")
		c.drive.Seed = rapid.Uint64().Draw(t, "seed")
		c.drive.Rate, c.drive.Pulls, c.drive.Cruise = 10, 1, 2
		shots := c.drive.Shots()
		r := analysed(t, shots, datalogtest.Columns)
		if !r.LowestDrop.Known {
			t.Fatal("nothing computed")
		}
		sameResult(t, r, analysed(t, shots, imperial()))
		sameResult(t, r, analysed(t, shots, rapid.Permutation(datalogtest.Columns).Draw(t, "order")))
		notBetter(t, r, analysed(t, worsened(t, shots), datalogtest.Columns))
	})
}

// TestEdgeOfABin: 260.00 kPa, which begins a bin of manifold pressure and is
// the lowest that counts in this pull, counts in a log in psi too.
func TestEdgeOfABin(t *testing.T) {
	c := logCases[slices.IndexFunc(logCases, func(c logCase) bool { return c.fault == "healthy" })]
	c.drive.Seed, c.drive.Rate, c.drive.Pulls, c.drive.Cruise = 0x21c, 10, 1, 2
	shots := c.drive.Shots()
	r := analysed(t, shots, datalogtest.Columns)
	at := slices.IndexFunc(shots, func(s datalogtest.Shot) bool { return closeTo(s.T, float64(r.LowestDrop.At), 1e-6) })
	if at < 0 || math.Round(shots[at].MAP*100) != 26000 || r.LowestDrop.Value != 298840 {
		t.Fatalf("the lowest is not at 260.00 kPa: %+v", r.LowestDrop)
	}
	sameResult(t, r, analysed(t, shots, imperial()))
}

// worsened makes a stretch of a log worse in every way.
func worsened(t *rapid.T, shots []datalogtest.Shot) []datalogtest.Shot {
	i := rapid.IntRange(0, len(shots)-1).Draw(t, "at")
	n := rapid.IntRange(1, 40).Draw(t, "samples")
	by := rapid.Float64Range(0, 2).Draw(t, "by")
	worse := slices.Clone(shots)
	for j := i; j < min(i+n, len(shots)); j++ {
		worse[j].Rail -= by
		worse[j].PW += by
		worse[j].Lambda += by / 10
		worse[j].Pump -= by
		worse[j].FuelT += 10 * by
	}
	return worse
}

func analysed(t rapid.TB, shots []datalogtest.Shot, cols []datalogtest.Column) Result {
	file := datalogtest.Render(shots, cols, datalogtest.Plain())
	p, err := Propose(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	r, err := Analyse(bytes.NewReader(file), asSaid(p, cols), testConditions)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// imperial is the same log in other units, written with all the digits.
func imperial() []datalogtest.Column {
	out := slices.Clone(datalogtest.Columns)
	for i, c := range out {
		of := c.Of
		round := func(s datalogtest.Shot) float64 { // what the other log shows
			p := math.Pow(10, float64(c.Decimals))
			return math.Round(of(s)*p) / p
		}
		switch Channel(c.Channel) {
		case Manifold, Barometer:
			out[i].Unit, out[i].Decimals, out[i].Of = "psi", 12, func(s datalogtest.Shot) float64 { return round(s) * 1e3 / quantity.PSI }
		case Rail:
			out[i].Unit, out[i].Decimals, out[i].Of = "psi", 12, func(s datalogtest.Shot) float64 { return round(s) * 1e5 / quantity.PSI }
		case FuelTemp:
			out[i].Unit, out[i].Decimals, out[i].Of = "degF", 12, func(s datalogtest.Shot) float64 { return round(s)*9/5 + 32 }
		case PulseWidth:
			out[i].Unit, out[i].Decimals, out[i].Of = "s", 12, func(s datalogtest.Shot) float64 { return round(s) / 1e3 }
		case Throttle, Ethanol:
			out[i].Unit, out[i].Decimals, out[i].Of = "ratio", 12, func(s datalogtest.Shot) float64 { return round(s) / 100 }
		}
	}
	return out
}

// medianBin is what two medians of the whole log may differ by: they are kept in
// bins of 500 Pa, and a middle value on the edge falls into either neighbour.
const medianBin = 1000

// sameResult compares two results of the same run to 1e-9, and medians to
// their bin. Times are not compared: of two equal stretches rounding decides.
func sameResult(t rapid.TB, a, b Result) {
	median := func(what string, x, y float64) {
		if math.Abs(x-y) > medianBin {
			t.Fatalf("%s: %v and %v", what, x, y)
		}
	}
	same := func(what string, x, y float64) {
		if !closeTo(x, y, 1e-9) && x == x {
			t.Fatalf("%s: %v and %v", what, x, y)
		}
	}
	same("lowest", float64(a.LowestDrop.Value), float64(b.LowestDrop.Value))
	median("base", float64(a.Base.Value), float64(b.Base.Value))
	median("light", float64(a.Light.Value), float64(b.Light.Value))
	same("slope", float64(a.Slope.Slope), float64(b.Slope.Slope))
	same("R2", float64(a.Slope.R2), float64(b.Slope.R2))
	same("duty", float64(a.Duty.Value), float64(b.Duty.Value))
	same("lean", float64(a.Lean.Value), float64(b.Lean.Value))
	same("lost", float64(a.VoltsLost.Value), float64(b.VoltsLost.Value))
	same("temperature", float64(a.Temperature.Value), float64(b.Temperature.Value))
	same("ethanol", float64(a.Ethanol.Value), float64(b.Ethanol.Value))
	same("barometer", float64(a.Barometer.Value), float64(b.Barometer.Value))
	if len(a.Signatures) != len(b.Signatures) || len(a.Proofs) != len(b.Proofs) {
		t.Fatal("results of different length")
	}
	for i := range a.Signatures {
		if a.Signatures[i].State != b.Signatures[i].State {
			t.Fatalf("%+v and %+v", a.Signatures[i], b.Signatures[i])
		}
	}
	for i := range a.Proofs {
		if a.Proofs[i].State != b.Proofs[i].State {
			t.Fatalf("%+v and %+v", a.Proofs[i], b.Proofs[i])
		}
	}
}

func notBetter(t *rapid.T, before, after Result) {
	const hair = 1e-9
	if after.LowestDrop.Value > before.LowestDrop.Value+hair*1e5 {
		t.Fatalf("lowest difference rose from %v to %v", before.LowestDrop, after.LowestDrop)
	}
	if after.Duty.Value < before.Duty.Value-hair || after.Lean.Value < before.Lean.Value-hair {
		t.Fatalf("duty %v to %v, lean %v to %v", before.Duty, after.Duty, before.Lean, after.Lean)
	}
	if after.VoltsLost.Value < before.VoltsLost.Value-hair || after.PumpVoltage.Value > before.PumpVoltage.Value+hair {
		t.Fatalf("lost %v to %v, pump %v to %v", before.VoltsLost, after.VoltsLost, before.PumpVoltage, after.PumpVoltage)
	}
	if after.Temperature.Value < before.Temperature.Value-hair {
		t.Fatalf("temperature %v to %v", before.Temperature, after.Temperature)
	}
}

// TestNotLogged: of a channel that is not in the log nothing is known.
func TestNotLogged(t *testing.T) {
	var file bytes.Buffer
	file.WriteString("Time,RPM,MAP,Rail,Lambda\ns,rpm,kPa,bar,lambda\n")
	for i := range 400 {
		fmt.Fprintf(&file, "%.2f,%d,200,%.3f,0.800\n", float64(i)*0.02, 4000+10*i, 3.987+float64(i%3)*0.001)
	}
	p, err := Propose(bytes.NewReader(file.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range p.Mapping.Columns {
		switch c.Channel {
		case Manifold:
			p.Mapping.Columns[i].Sensor = Absolute
		case Rail:
			p.Mapping.Columns[i].Sensor = Gauge
		}
	}
	r, err := Analyse(bytes.NewReader(file.Bytes()), p.Mapping, Conditions{Barometer: 101.3e3, Target: 0.80})
	if err != nil {
		t.Fatal(err)
	}
	if !r.LowestDrop.Known || !r.Rich.Known || math.Abs(float64(r.Rich.Value)) > 0.001 {
		t.Errorf("what is logged: difference %+v, rich %+v", r.LowestDrop, r.Rich)
	}
	if r.PumpCommand.Known || r.Ethanol.Known || r.VoltsLost.Known || r.PumpVoltage.Known || r.Duty.Known || r.Temperature.Known || r.PumpStop.Known {
		t.Errorf("what is not logged is known: %+v %+v %+v %+v %+v %+v", r.PumpCommand, r.Ethanol, r.VoltsLost, r.PumpVoltage, r.Duty, r.Temperature)
	}
}
