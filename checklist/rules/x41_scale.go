package rules

import (
	"fmt"
	"strconv"
	"strings"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "X41", Title: "a number that its instrument cannot show",
	What: "Each value of the last reading of each test, and the torque of a step, against the scale of the instrument that it names, of whatever quantity: more than 1 % of the scale beyond either end, or below nothing by more than it shows above, or written with more than one decimal beyond those of its divisions. " +
		"Where the same number in another unit stands on the scale, that unit is named.",
	Limits: "on the scale: OK; beyond: UNPROVEN; finer: NOTE",
	Source: "common practice: nobody reads finer than a tenth of a division",
	Means:  "Another unit was meant, another instrument was used, or the number was not read.",
	Next:   "Look at the instrument: correct the entry, or read again.",
	Words: Words{
		code.Mixed:    {"the instrument ends before it; in {would fit} the number stands on its scale", "was it {would fit}? Correct the entry, or name the instrument that was used"},
		code.OffScale: {"the instrument does not show so much, or so little", "name the instrument that was used, or read again"},
		code.Finer:    {"nobody reads it so finely there", "write it as the scale shows it, or name the instrument that was used"},
	},
	Judge: inVisit(judgeScale),
})

func judgeScale(c *state.Car) []schema.Finding {
	var found []schema.Finding
	for _, t := range schema.Readings {
		r, ok := c.Last(t.Name)
		for _, v := range r.Data.Values {
			if ok && v.Gauge != nil && v.Value != "" {
				found = append(found, onScale(c, t.Name+" "+v.Name, v.Gauge.Gauge, v.Written(), r.Entry)...)
			}
		}
	}
	for _, s := range c.Steps {
		if c.InVisit(s.Entry) && s.Data.Tool != "" && s.Data.Torque.Known() {
			found = append(found, onScale(c, "torque of "+s.Data.Step, s.Data.Tool, quantity.Written{Value: s.Data.Torque.Value, Unit: s.Data.Torque.Unit}, s.Entry)...)
		}
	}
	return numbered(found)
}

// onScale holds one value against the scale of its instrument.
func onScale(c *state.Car, what, gauge string, w quantity.Written, e schema.Entry) []schema.Finding {
	if c.Shop.Gauge == nil {
		return nil
	}
	record, _ := c.Shop.Gauge(gauge)
	said, ok := state.LastSaid[schema.GaugeData](record)
	if !ok {
		return nil
	}
	f := schema.Finding{Rule: "X41", Subject: what, About: what, Measured: w.String() + " on " + gauge, Limit: scaleText(said.Data), Entries: ids(e)}
	for _, s := range scales {
		outside, can := s(w, said.Data)
		switch {
		case !can:
			continue
		case outside:
			f.Severity, f.Code = schema.Unproven, code.OffScale
			if unit := s.fits(w, said.Data); unit != "" {
				f.Code, f.Values = code.Mixed, []schema.Amount{called("would fit", unit)}
			}
			return []schema.Finding{f}
		}
		break
	}
	if finerThan(w, said.Data.Resolution) {
		f.Severity, f.Code = schema.Note, code.Finer
		return []schema.Finding{f}
	}
	return nil
}

func scaleText(g schema.GaugeData) string {
	text := fmt.Sprintf("%s to %s", g.RangeLow, g.RangeHigh)
	if !g.Resolution.IsZero() {
		text += ", divisions of " + g.Resolution.String()
	}
	return text
}

// scaleOf says whether a value lies beyond the scale of an instrument, and
// whether both are of its quantity.
type scaleOf func(quantity.Written, schema.GaugeData) (outside, can bool)

func onScaleOf[Q quantity.Quantity](w quantity.Written, g schema.GaugeData) (outside, can bool) {
	x, err := quantity.Of[Q](w)
	high, err2 := quantity.Of[Q](g.RangeHigh)
	if err != nil || err2 != nil {
		return false, false
	}
	low, err := quantity.Of[Q](g.RangeLow)
	if err == nil && low == 0 {
		low = -high // a manometer is turned round for a vacuum
	}
	drift := zeroDrift * float64(high-low)
	return exceeds(float64(x), float64(high)+drift) || err == nil && exceeds(float64(low)-drift, float64(x)), true
}

// zeroDrift is how far beyond its scale an instrument may stand, as a share of it:
// a zero that is not quite one.
const zeroDrift = 0.01

// fits is the first other unit of the quantity in which the number stands on the
// scale, and not at the foot of it; empty for none.
func (s scaleOf) fits(w quantity.Written, g schema.GaugeData) string {
	for _, unit := range quantity.Alternatives(w.Unit) {
		outside, can := s(quantity.Written{Value: w.Value, Unit: unit}, g)
		tenfold, _ := s(quantity.Written{Value: figures(10 * number(w)), Unit: unit}, g)
		if can && !outside && tenfold {
			return unit
		}
	}
	return ""
}

func number(w quantity.Written) float64 {
	x, _ := strconv.ParseFloat(w.Value, 64)
	return x
}

var scales = []scaleOf{
	onScaleOf[quantity.Gauge], onScaleOf[quantity.Absolute], onScaleOf[quantity.Difference], onScaleOf[quantity.Torque], onScaleOf[quantity.Temperature], onScaleOf[quantity.Voltage],
	onScaleOf[quantity.Current], onScaleOf[quantity.Resistance], onScaleOf[quantity.Length], onScaleOf[quantity.Flow], onScaleOf[quantity.LEL], onScaleOf[quantity.Lambda], onScaleOf[quantity.Fraction],
}

// finerThan reports a number in its instrument's unit that is written with more
// than one decimal beyond those of a division.
func finerThan(w, division quantity.Written) bool {
	_, written, _ := strings.Cut(w.Value, ".")
	_, shown, _ := strings.Cut(division.Value, ".")
	return division.Unit != "" && w.Unit == division.Unit && len(strings.TrimRight(written, "0")) > len(shown)+1
}
