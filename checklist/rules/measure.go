package rules

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

// measured is a value of a reading in SI with what is known of its gauge.
type measured[Q quantity.Quantity] struct {
	value   Q
	u       Q     // half-width of its uncertainty
	diff    Q     // half-width in a difference read on the same gauge at once
	trouble doubt // why it cannot prove anything
	gauge   string
}

// read takes a named value of a reading.
func read[Q quantity.Quantity](c *state.Car, r state.Reading, name string) (measured[Q], bool) {
	v, ok := r.Value(name)
	if !ok {
		return measured[Q]{}, false
	}
	return take[Q](c, r, v)
}

func take[Q quantity.Quantity](c *state.Car, r state.Reading, v schema.Value) (measured[Q], bool) {
	value, err := quantity.Of[Q](v.Written())
	if err != nil {
		return measured[Q]{}, false
	}
	m := measured[Q]{value: value}
	m.u, m.diff, m.trouble = uncertainty[Q](v)
	if v.Gauge != nil {
		m.gauge = v.Gauge.Gauge
		if !m.trouble.is() {
			m.trouble = gaugeTrouble(c, r, *v.Gauge)
		}
	}
	return m, true
}

// uncertainty is the half-width from the gauge's class (per cent of span, EN
// 837-1) or accuracy, with half a division; and the half-width of a difference
// read on the same gauge in the same minute, 0.3 U + resolution (common
// practice).
func uncertainty[Q quantity.Quantity](v schema.Value) (u, diff Q, trouble doubt) {
	half, err := quantity.Resolution[Q](v.Written())
	if err != nil {
		return u, diff, doubtful(code.Unreadable, called("reason", err.Error()))
	}
	if v.Gauge == nil {
		return half, half, doubtful(code.Unnamed)
	}
	if division, ok := width[Q](v.Gauge.Resolution); ok {
		half = max(half, division/2)
	}
	accuracy, ok := limitOfError[Q](*v.Gauge)
	if !ok {
		return half, half, doubtful(code.Unrated)
	}
	u = Q(math.Hypot(float64(accuracy), float64(half)))
	return u, Q(0.3*float64(u)) + 2*half, zeroTrouble(v, u)
}

func limitOfError[Q quantity.Quantity](g schema.GaugeSnapshot) (Q, bool) {
	if a, ok := width[Q](g.Accuracy); ok {
		return a, true
	}
	class, _ := strconv.ParseFloat(g.Class, 64)
	span, ok := width[Q](g.Span)
	return Q(class / 100 * float64(span)), ok && class > 0
}

// width reads a span, an accuracy or a division: a difference in the unit of
// the quantity, so that offsets of temperature scales and references of
// pressures do not matter.
func width[Q quantity.Quantity](w quantity.Written) (Q, bool) {
	half, _ := quantity.Width[Q](w)
	return half, half > 0
}

func zeroTrouble[Q quantity.Quantity](v schema.Value, u Q) doubt {
	if v.Zero.IsZero() {
		return doubt{}
	}
	zero, err := quantity.Of[Q](v.Zero)
	if err != nil {
		return doubtful(code.Unreadable, called("reason", "its zero: "+err.Error()))
	}
	if exceeds(math.Abs(float64(zero)), float64(u)) {
		return doubtful(code.Unzeroed, called("gauge", v.Gauge.Gauge), asPrinted("zero", zero))
	}
	return doubt{}
}

// gaugeTrouble says why a gauge cannot prove anything at the reading's moment:
// calibration lapsed on the day, or found bad with no good check in between.
func gaugeTrouble(c *state.Car, r state.Reading, g schema.GaugeSnapshot) doubt {
	if g.Due == "" {
		return doubtful(code.Uncalibrated, called("gauge", g.Gauge))
	}
	if _, err := time.Parse(time.DateOnly, g.Due); err != nil {
		return doubtful(code.Unreadable, called("reason", fmt.Sprintf("gauge %s: due date %q cannot be read", g.Gauge, g.Due)))
	}
	if state.Lapsed(g, r.Entry.At) {
		return doubtful(code.Lapsed, called("gauge", g.Gauge), called("due", g.Due))
	}
	return foundBad(c, r, g.Gauge)
}

// instrumentTrouble is gaugeTrouble for a value that must name its gauge.
func instrumentTrouble(c *state.Car, r state.Reading, v schema.Value) doubt {
	if v.Gauge == nil {
		return doubtful(code.Unnamed)
	}
	return gaugeTrouble(c, r, *v.Gauge)
}

// FoundBad says which gauge of a reading was found bad after it; empty when none
// was.
func FoundBad(c *state.Car, r state.Reading) string {
	for _, v := range r.Data.Values {
		if v.Gauge == nil {
			continue
		}
		if why := foundBad(c, r, v.Gauge.Gauge); why.is() {
			return why.text()
		}
	}
	return ""
}

// foundBad looks for a check that found the gauge bad after the reading, with
// no good check or calibration between. A bump test says whether a meter
// answers on that day, and nothing of other days.
func foundBad(c *state.Car, r state.Reading, gauge string) doubt {
	if c.Shop.Gauge == nil {
		return doubt{}
	}
	record, _ := c.Shop.Gauge(gauge)
	for _, e := range state.Standing(record) {
		if !e.At.After(r.Entry.At) {
			continue
		}
		if e.Kind == (schema.CalibrationData{}).EntryKind() {
			return doubt{}
		}
		check, err := schema.Into[schema.CheckData](e)
		if err != nil || check.Check == schema.BumpTest {
			continue
		}
		if check.Result == schema.Bad {
			return doubtful(code.FoundBad, called("gauge", gauge), called("found", e.At.Format(time.DateOnly)))
		}
		return doubt{}
	}
	return doubt{}
}

// apart is the half-width of a difference of two values: that of a difference
// where one gauge read both, else of both together.
func apart[Q quantity.Quantity](a, b measured[Q]) float64 {
	if a.gauge == b.gauge {
		return float64(max(a.diff, b.diff))
	}
	return math.Hypot(float64(a.u), float64(b.u))
}

// barometer is the barometer of a reading: as recorded with it, else the
// plan's altitude is not guessed and sea level stands in.
func barometer(r state.Reading) quantity.Absolute {
	if r.Data.Conditions == nil {
		return state.StandardBarometer
	}
	return r.Data.Conditions.Barometer.Or(state.StandardBarometer)
}

// manifold reads a manifold pressure, written absolute or against the
// barometer, as absolute.
func manifold(c *state.Car, r state.Reading, v schema.Value) (measured[quantity.Absolute], bool) {
	if m, ok := take[quantity.Absolute](c, r, v); ok {
		return m, true
	}
	g, ok := take[quantity.Gauge](c, r, v)
	if !ok {
		return measured[quantity.Absolute]{}, false
	}
	return measured[quantity.Absolute]{
		value: g.value.Above(barometer(r)), u: quantity.Absolute(g.u), diff: quantity.Absolute(g.diff),
		trouble: g.trouble, gauge: g.gauge,
	}, true
}
