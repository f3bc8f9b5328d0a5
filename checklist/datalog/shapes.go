package datalog

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"feedproof/schema/quantity"
)

// The shapes of a fall of pressure along one pull: one point cannot name the
// cause, the path along manifold pressure and flow can.

func bar(pascal float64) string { return quantity.Format(quantity.Difference(pascal), "bar", 2) }

func percent(f float64) string { return quantity.Format(quantity.Fraction(f), "%", 0) }

const (
	needRail   = "needs rail and manifold pressure in a loaded pull"
	needFlow   = "needs rail pressure and pulse width or duty in a loaded pull"
	shapeBin   = 5e3  // Pa of manifold pressure
	shapeStep  = 0.1  // of the highest flow
	shapeLeast = 5    // points, fewer have no shape
	tailFlow   = 0.80 // of the highest flow, where voltage shows
)

// group is the mean of the points that share a bin.
type group struct {
	x, y float64
	n    float64
}

// grouped averages y over bins of x, in the order of x.
func grouped(points []Point, width float64, x, y func(Point) float64) []group {
	bins := map[int]group{}
	for _, p := range points {
		px, py := x(p), y(p)
		if px != px || py != py {
			continue
		}
		i := int(math.Floor(px / width))
		g := bins[i]
		g.x, g.y, g.n = g.x+px, g.y+py, g.n+1
		bins[i] = g
	}
	var out []group
	for _, g := range bins {
		out = append(out, group{g.x / g.n, g.y / g.n, g.n})
	}
	slices.SortFunc(out, func(a, b group) int { return cmp.Compare(a.x, b.x) })
	return out
}

// plateau, S01: rail pressure stays within 0.03 bar over 4 points or more at
// the top of manifold pressure, where it should have risen by 0.15 bar, after
// it did rise below.
func (a *analysis) plateau(r *Result) outcome {
	groups := grouped(r.Worst, shapeBin,
		func(p Point) float64 { return float64(p.Manifold) },
		func(p Point) float64 { return float64(p.Rail) })
	if len(groups) < plateauPoints {
		return cannot(needRail)
	}
	first := len(groups)
	low, high := math.Inf(1), math.Inf(-1)
	for first > 0 {
		y := groups[first-1].y
		if max(high, y)-min(low, y) > 2*plateauBand {
			break
		}
		low, high = min(low, y), max(high, y)
		first--
	}
	flat := groups[first:]
	rise := flat[len(flat)-1].x - flat[0].x
	rose := first > 0 && low-groups[0].y > 2*plateauBand
	text := fmt.Sprintf("rail between %s and %s while the manifold rises by %s, %d points", bar(low), bar(high), bar(rise), len(flat))
	return saw(rose && len(flat) >= plateauPoints && rise >= plateauRise, a.topAt(r), text)
}

// topAt is when the manifold pressure was highest in the worst pull.
func (a *analysis) topAt(r *Result) float64 {
	best, at := math.Inf(-1), 0.0
	for _, p := range r.Worst {
		if float64(p.Manifold) > best {
			best, at = float64(p.Manifold), float64(p.At)
		}
	}
	return at
}

// byFlow groups the pressure difference by flow as a share of the highest.
func byFlow(points []Point) []group {
	top := highestDemand(points)
	if !(top > 0) {
		return nil
	}
	return byShare(points, top)
}

func byShare(points []Point, top float64) []group {
	return grouped(points, shapeStep,
		func(p Point) float64 { return float64(p.Demand) / top },
		func(p Point) float64 { return float64(p.Drop) })
}

func highestDemand(points []Point) float64 {
	top := nan
	for _, p := range points {
		top = larger(top, float64(p.Demand))
	}
	return top
}

// knee, S02: the pressure difference stays within 0.03 bar until the last 15 %
// of flow and then falls by more than 0.05 bar.
func (a *analysis) knee(r *Result) outcome {
	top := highestDemand(r.Worst)
	if !(top > 0) || !r.LowestDrop.Known || len(r.Worst) < shapeLeast {
		return cannot(needFlow)
	}
	var below []Point
	lowestAt := nan
	for _, p := range r.Worst {
		if float64(p.Demand) < kneeFlow*top {
			below = append(below, p)
		}
		if lowestAt != lowestAt && p.At >= r.LowestDrop.At {
			lowestAt = float64(p.Demand) / top
		}
	}
	mean, off := flatness(byShare(below, top))
	if mean != mean {
		return cannot("needs pressure and flow below the last 15 % of flow")
	}
	fall := mean - float64(r.LowestDrop.Value)
	late := lowestAt != lowestAt || lowestAt >= kneeFlow
	text := fmt.Sprintf("%s within %s up to %s of flow, then %s lower", bar(mean), bar(off), percent(kneeFlow), bar(fall))
	return saw(off <= kneeBand && fall > kneeFall && late, float64(r.LowestDrop.At), text)
}

// flatness is the mean of groups and how far the furthest is from it.
func flatness(groups []group) (mean, off float64) {
	sum, n := 0.0, 0.0
	for _, g := range groups {
		sum, n = sum+g.y*g.n, n+g.n
	}
	mean = sum / n
	for _, g := range groups {
		off = max(off, math.Abs(g.y-mean))
	}
	return mean, off
}

// droop, S03: the fall goes with the square of flow and starts below half of
// it.
func (a *analysis) droop(r *Result) outcome {
	m := against(r.Worst, func(p Point) float64 { return float64(p.Demand) * float64(p.Demand) })
	top := highestDemand(r.Worst)
	if m.n < shapeLeast || !(top > 0) || m.sxx <= 0 {
		return cannot(needFlow)
	}
	fall := -m.slope() * top * top
	early := 0.0
	for _, g := range byFlow(r.Worst) {
		if g.x <= halfFlow+shapeStep {
			early = max(early, m.intercept()-g.y)
		}
	}
	best := len(r.Fits) > 0 && (r.Fits[0].Against == "flow squared" || r.Fits[0].Against == "flow")
	text := fmt.Sprintf("falls %s with the square of flow, R2 %.2f; %s of it below %s of flow", bar(fall), m.r2(), bar(early), percent(halfFlow+shapeStep))
	seen := m.r2() >= droopR2 && fall > kneeFall && early >= fall*halfFlow*halfFlow/2 && best
	return saw(seen, float64(r.LowestDrop.At), text)
}

// voltage, S04: the voltage at the pump falls by 0.8 V or more in the pull and
// the pressure difference goes with it, over the whole pull or from 80 % of
// flow on; a pump keeps up until its voltage no longer lets it.
func (a *analysis) voltage(r *Result) outcome {
	var volts []float64
	var tail []Point
	top := highestDemand(r.Worst)
	for _, p := range r.Worst {
		if known(p.PumpVoltage) {
			volts = append(volts, float64(p.PumpVoltage))
		}
		if float64(p.Demand) >= tailFlow*top {
			tail = append(tail, p)
		}
	}
	if len(volts) < shapeLeast || !r.LowestDrop.Known {
		return cannot("needs the voltage at the pump in a loaded pull")
	}
	lost := slices.Max(volts) - slices.Min(volts)
	of := func(p Point) float64 { return float64(p.PumpVoltage) }
	all, end := against(r.Worst, of), against(tail, of)
	r2 := 0.0
	for _, m := range [...]spanned{all, end} {
		if m.n >= shapeLeast && m.slope() > 0 {
			r2 = max(r2, m.r2())
		}
	}
	fall := highestDrop(r.Worst) - float64(r.LowestDrop.Value)
	text := fmt.Sprintf("pump voltage falls %.1f V, pressure difference %s with it, R2 %.2f", lost, bar(fall), r2)
	return saw(lost >= voltageDrop && r2 >= voltageR2 && fall > kneeFall, float64(r.LowestDrop.At), text)
}

func highestDrop(points []Point) float64 {
	top := nan
	for _, g := range byFlow(points) {
		top = larger(top, g.y)
	}
	return top
}

// referenceSlope, S05: rail follows the manifold in a straight line that is
// too flat. A plateau, and a fall that flow explains better, are not this.
func (a *analysis) referenceSlope(r *Result) outcome {
	if !r.Slope.Known {
		return cannot("needs a span of manifold pressure of 100 kPa")
	}
	better := len(r.Fits) > 0 && r.Fits[0].Against != "manifold pressure"
	text := fmt.Sprintf("slope %.2f, R2 %.3f over %s", float64(r.Slope.Slope), float64(r.Slope.R2), quantity.Format(r.Slope.Span, "kPa", 0))
	seen := r.Slope.Slope < slopeLow && r.Slope.R2 >= slopeR2 && !better && !r.sees("S01")
	return saw(seen, 0, text)
}

// offset, S06: the pressure difference is off its base by 0.1 bar or more
// everywhere, with a slope of 1.
func (a *analysis) offset(r *Result) outcome {
	mean, _ := flatness(byFlow(r.Worst))
	switch {
	case !r.Base.Known:
		return cannot("needs the base pressure, reference hose off")
	case mean != mean || !r.Slope.Known:
		return cannot(needRail + " with a span of 100 kPa")
	}
	off := mean - float64(r.Base.Value)
	text := fmt.Sprintf("mean %s against a base of %s, slope %.2f", bar(mean), bar(float64(r.Base.Value)), float64(r.Slope.Slope))
	return saw(math.Abs(off) >= offsetLeast && math.Abs(float64(r.Slope.Slope)-1) <= offsetSlope, 0, text)
}
