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

// plateau, S01: over 4 points or more at the top of manifold pressure, where the
// rail should have risen by 0.15 bar, it did not rise by more than 0.06 (0.03
// each way), after it did rise below. It may fall a little: what a relief valve
// leaves, the line takes from; a fall that is a droop with flow is not this.
func (a *analysis) plateau(r *Result) outcome {
	groups := grouped(r.Worst, shapeBin,
		func(p Point) float64 { return float64(p.Manifold) },
		func(p Point) float64 { return float64(p.Rail) })
	if len(groups) < 2 || len(r.Worst) < plateauPoints {
		return cannot(needRail)
	}
	top := groups[len(groups)-1]
	first, points := len(groups), 0.0
	low, high := math.Inf(1), math.Inf(-1)
	for first > 0 && groups[first-1].y >= top.y-2*plateauBand && groups[first-1].y <= top.y+4*plateauBand {
		first--
		low, high = min(low, groups[first].y), max(high, groups[first].y)
		points += groups[first].n
	}
	rise := top.x - groups[first].x
	rose := first > 0 && low-groups[0].y > 2*plateauBand
	text := fmt.Sprintf("rail between %s and %s while the manifold rises by %s, %.0f points", bar(low), bar(high), bar(rise), points)
	seen := rose && points >= plateauPoints && rise >= plateauRise && a.droop(r).state != Seen
	return saw(seen, a.topAt(r), text)
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
	lowestAt := nan // flow in the 0.3 s of the lowest
	for _, p := range r.Worst {
		if float64(p.Demand) < kneeFlow*top {
			below = append(below, p)
		}
		if p.At > r.LowestDrop.At-medianWindow-traceWidth && p.At < r.LowestDrop.At+traceWidth {
			lowestAt = larger(lowestAt, float64(p.Demand)/top)
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
	best := r.explanation() == "flow squared" || r.explanation() == "flow"
	text := fmt.Sprintf("falls %s with the square of flow, R2 %.2f; %s of it below %s of flow", bar(fall), m.r2(), bar(early), percent(halfFlow+shapeStep))
	seen := m.r2() >= droopR2 && fall > kneeFall && early >= fall*halfFlow*halfFlow/2 && best
	return saw(seen, float64(r.LowestDrop.At), text)
}

// voltage, S04: the voltage at the pump falls by 0.8 V or more in the pull and
// the pressure difference goes with it, over the whole pull or from 80 % of
// flow on. A pump keeps up until its voltage no longer lets it, so a knee with
// that fall of voltage before it is this too (D03: knee or fall).
func (a *analysis) voltage(r *Result) outcome {
	var tail []Point
	top := highestDemand(r.Worst)
	for _, p := range r.Worst {
		if float64(p.Demand) >= tailFlow*top {
			tail = append(tail, p)
		}
	}
	lost, samples := voltsLost(r.Worst)
	if samples < shapeLeast || !r.LowestDrop.Known {
		return cannot("needs the voltage at the pump in a loaded pull")
	}
	of := func(p Point) float64 { return float64(p.PumpVoltage) }
	all, end := against(r.Worst, of), against(tail, of)
	r2 := 0.0
	for _, m := range [...]spanned{all, end} {
		if m.n >= shapeLeast && m.slope() > 0 {
			r2 = max(r2, m.r2())
		}
	}
	fall := highestDrop(r.Worst) - float64(r.LowestDrop.Value)
	how := fmt.Sprintf("with it, R2 %.2f", r2)
	if r.sees("S02") {
		how = "at a knee behind it"
	}
	text := fmt.Sprintf("pump voltage falls %.1f V, pressure difference %s %s", lost, bar(fall), how)
	return saw(lost >= voltageDrop && (r2 >= voltageR2 || r.sees("S02")) && fall > kneeFall, float64(r.LowestDrop.At), text)
}

// voltsLost is how far the pump's voltage fell along a pull, and of how many points.
func voltsLost(points []Point) (lost float64, samples int) {
	low, high := math.Inf(1), math.Inf(-1)
	for _, p := range points {
		if v := float64(p.PumpVoltage); v == v {
			low, high = min(low, v), max(high, v)
			samples++
		}
	}
	return max(high-low, 0), samples
}

// explanation is what the pressure difference of the worst pull goes with most
// closely. Volts and degrees that hardly moved explain nothing, however well
// they keep step with engine speed.
func (r *Result) explanation() string {
	lost, _ := voltsLost(r.Worst)
	for _, f := range r.Fits {
		if f.Against == "pump voltage" && lost < voltageDrop || f.Against == "fuel temperature" {
			continue
		}
		return f.Against
	}
	return "manifold pressure"
}

func highestDrop(points []Point) float64 {
	top := nan
	for _, g := range byFlow(points) {
		top = larger(top, g.y)
	}
	return top
}

// referenceSlope, S05: rail follows the manifold in a straight line that is
// too flat. A plateau, and a fall that flow explains better, are not this. Of a
// rail that does not follow at all no line explains anything; what it lacks is
// then a straight line (DT09).
func (a *analysis) referenceSlope(r *Result) outcome {
	if !r.Slope.Known {
		return cannot("needs a span of manifold pressure of 100 kPa")
	}
	better := r.explanation() != "manifold pressure"
	straight := max(r.Slope.R2, r.Slope.LackR2)
	text := fmt.Sprintf("slope %.2f, R2 %.3f over %s", float64(r.Slope.Slope), float64(straight), quantity.Format(r.Slope.Span, "kPa", 0))
	seen := r.Slope.Slope < slopeLow && straight >= slopeR2 && !better && !r.sees("S01")
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
