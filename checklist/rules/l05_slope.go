package rules

import (
	"fmt"
	"math"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var slopeScale = scale{{0.03, schema.Flag}, {0.06, schema.Hold}}

const (
	slopeSpan  = quantity.Absolute(100 * quantity.KPa)
	slopeBlock = 0.80
	slopeOff   = quantity.Difference(0.05 * quantity.Bar) // of a point from the line
)

var _ = register(Rule{
	ID: "L05", Title: "rail pressure follows the manifold 1:1",
	What: "Least-squares slope of rail pressure against manifold pressure, from the static test with regulated air, or from idle and full load; and as the last loaded log shows it. It needs a span of 100 kPa or more. It does not apply to a regulator that has no reference. " +
		"Of a rising-rate regulator whose ratio the plan declares, the static test is judged against that ratio, which counts above the barometer.",
	Formula: "slope = sum (m - m0)(p - p0) / sum (m - m0)^2, with barometer + ratio (m - barometer) for m above the barometer; U = hypot(U_rail, ratio U_manifold) / sqrt(sum (m - m0)^2)",
	Limits:  "OK 1.00 +- 0.03, FLAG to +- 0.06, HOLD beyond, BLOCK below 0.80; a point of the static test more than 0.05 bar off the line, by more than its own uncertainty: FLAG",
	Source:  "common practice",
	Means:   "The pressure difference at the injectors falls as boost rises: a split or shared reference hose, a wrong port, a sticking diaphragm. Above 1.06: a rising-rate regulator or a wrong sensor scale.",
	Next:    "Hand pump on the reference: 100 kPa must hold 60 s and the rail follow 1:1.",
	Words: Words{
		code.Missing:   {"nothing shows it yet", "regulated air on the reference, 0 to 200 kPa in steps, or idle and full load: feedproof read CAR slope manifold=... rail=... manifold=... rail=..."},
		code.Steep:     {"the rail rises more than the manifold", "is the regulator declared as rising-rate? then the scale of both sensors"},
		code.Flat:      {"the rail rises less than the manifold, so the pressure at the injectors falls with boost", "hand pump on the reference hose: holds and follows 1:1?"},
		code.Scattered: {"a point lies off the line: the regulator sticks, or one was read wrong", "read the points again, up and down; then hand pump on the reference hose"},
	},
	Shop: atMostOwn[quantity.Fraction](slopeScale),
	Judge: inVisit(func(c *state.Car) []schema.Finding {
		return beside(slopeInLog(c), judgeSlope(c), true)
	}),
})

// slopeInLog judges the slope over the last loaded log.
func slopeInLog(c *state.Car) []schema.Finding {
	l, ok := lastPull(c, loadChanges...)
	if !ok || !referenced(c) || c.BoostRatio() != 1 {
		return nil
	}
	slope, _, ok := logged[quantity.Fraction](l, logSlope)
	if !ok {
		return nil
	}
	span, _, _ := logged[quantity.Difference](l, logSlopeSpan)
	s, limit := shopScale[quantity.Fraction](c, "L05", "1.00 +- 0.03", slopeScale)
	f := schema.Finding{Rule: "L05", Subject: inLog(logSlope), Values: []schema.Amount{ratio("slope", float64(slope)), amount("span", span)}, Limits: slopeBound(s), About: "regulator slope, log", Measured: slopeText(float64(slope), quantity.Absolute(span)), Limit: limit, Entries: ids(l.Entry)}
	f.Severity, f.Code = s.grade(math.Abs(float64(slope)-1)), slopeCode(float64(slope))
	if f.Severity == schema.OK {
		f.Code = code.Within
	}
	if exceeds(slopeBlock, float64(slope)) {
		f.Severity = schema.Block
	}
	why := logTrouble(l, "L05")
	if exceeds(float64(slopeSpan), float64(span)) {
		why = "the manifold pressures span less than 100 kPa"
	}
	if why != "" {
		f = unprovenLog(f, why)
	}
	return []schema.Finding{f}
}

func slopeText(slope float64, span quantity.Absolute) string {
	return fmt.Sprintf("%.3f over %s", slope, quantity.Format(quantity.Difference(span), "kPa", 0))
}

func slopeCode(slope float64) code.Code {
	if exceeds(slope, 1) {
		return code.Steep
	}
	return code.Flat
}

func slopeBound(s scale) []schema.Bound {
	return []schema.Bound{{Name: "slope", AtLeast: figures(1 - s[0].above), AtMost: figures(1 + s[0].above)}}
}

type slopePoint struct {
	rail     measured[quantity.Gauge]
	manifold measured[quantity.Absolute]
	rise     float64 // that the regulator should give for it, over the barometer
	entry    schema.Entry
}

func judgeSlope(c *state.Car) []schema.Finding {
	if !referenced(c) {
		return nil
	}
	s, limit := shopScale[quantity.Fraction](c, "L05", "1.00 +- 0.03", slopeScale)
	points := slopePoints(c)
	if len(points) < 2 {
		return lacking(schema.Finding{Rule: "L05", Subject: "slope", About: "regulator slope", Limit: limit}, code.Missing)
	}
	ratio := c.BoostRatio()
	slope, u, span := fitSlope(points, ratio)
	off := offLine(points, slope)
	f := schema.Finding{Rule: "L05", Subject: "slope", Code: slopeCode(slope), Limits: slopeBound(s), About: "regulator slope", Measured: slopeText(slope, span), Limit: limit}
	if ratio != 1 {
		f.Measured += fmt.Sprintf(", of the declared %.2f:1", ratio)
	}
	f.Values = []schema.Amount{{Name: "slope", Value: figures(slope), U: figures(u)}, amount("span", quantity.Difference(span))}
	var trouble doubt
	for _, p := range points {
		f.Entries = append(f.Entries, p.entry.ID)
		trouble = firstOf(trouble, p.rail.trouble, p.manifold.trouble)
	}
	if exceeds(float64(slopeSpan), float64(span)) {
		return []schema.Finding{unproven(f, doubtful(code.Narrow))}
	}
	f = weigh(f, s, math.Abs(slope-1), u)
	if exceeds(slopeBlock, slope+u) {
		f.Severity, f.Code = schema.Block, code.Flat
	}
	if exceeds(off, float64(slopeOff)) {
		if f.Severity < schema.Flag {
			f.Severity, f.Code = schema.Flag, code.Scattered
		}
		f.Values = append(f.Values, amount("off the line", quantity.Difference(off)))
		f.Measured += ", points up to " + bar(quantity.Difference(off)) + " off the line"
	}
	return decided(f, trouble)
}

// offLine is how far at least a point lies off the line of that slope through
// their mean.
func offLine(points []slopePoint, slope float64) float64 {
	var mean, worst float64
	for _, p := range points {
		mean += (float64(p.rail.value) - slope*p.rise) / float64(len(points))
	}
	for _, p := range points {
		worst = max(worst, math.Abs(float64(p.rail.value)-slope*p.rise-mean)-float64(p.rail.diff))
	}
	return worst
}

// slopePoints gathers pairs since the regulator was last changed: of the static
// test when there is one, else of idle and load.
func slopePoints(c *state.Car) []slopePoint {
	for _, tests := range [][]string{{"slope"}, {"idle", "load"}} {
		var points []slopePoint
		for _, test := range tests {
			r, ok := c.Last(test)
			if !ok {
				continue
			}
			if _, gone := invalidated(c, r, "regulator"); !gone {
				points = append(points, pairs(c, r)...)
			}
		}
		if len(points) >= 2 {
			return points
		}
	}
	return nil
}

func pairs(c *state.Car, r state.Reading) []slopePoint {
	rails, manifolds := r.Values("rail"), r.Values("manifold")
	if r.Data.Test == "idle" {
		rails = r.Values("on")
	}
	var points []slopePoint
	for i := range min(len(rails), len(manifolds)) {
		p, ok1 := take[quantity.Gauge](c, r, rails[i])
		m, ok2 := manifold(c, r, manifolds[i])
		if ok1 && ok2 {
			points = append(points, slopePoint{p, m, rise(float64(m.value.Over(barometer(r))), c.BoostRatio()), r.Entry})
		}
	}
	return points
}

// rise is what a regulator adds to its base at a manifold gauge pressure.
func rise(manifold, ratio float64) float64 {
	return min(manifold, 0) + ratio*max(manifold, 0)
}

func fitSlope(points []slopePoint, ratio float64) (slope, u float64, span quantity.Absolute) {
	low, high := points[0].manifold.value, points[0].manifold.value
	var m0, p0 float64
	for _, p := range points {
		m0 += p.rise / float64(len(points))
		p0 += float64(p.rail.value) / float64(len(points))
		low, high = min(low, p.manifold.value), max(high, p.manifold.value)
	}
	var sxy, sxx, ur, um float64
	for _, p := range points {
		dm := p.rise - m0
		sxy += dm * (float64(p.rail.value) - p0)
		sxx += dm * dm
		ur, um = max(ur, apart(p.rail, points[0].rail)), max(um, ratio*apart(p.manifold, points[0].manifold))
	}
	return sxy / sxx, math.Hypot(ur, um) / math.Sqrt(2*sxx), high - low // ur and um are of differences: two points have them once
}
