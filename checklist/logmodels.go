package checklist

import (
	"fmt"
	"math"
	"slices"

	"feedproof/checklist/datalog"
	"feedproof/checklist/fuel"
	"feedproof/schema/quantity"
)

// Ranges of the one number of a fault.
const (
	leastPump    = 0.4
	mostPump     = 1.03  // of new: a timed flow repeats within 3 % (V-12)
	offsetMost   = 1.5e5 // Pa
	ratioLeast   = 0.5
	lossMost     = 1.5e5 // Pa at the plan's flow
	blockedMost  = 4e5   // Pa at the plan's flow
	reliefBeyond = 1.5e5 // Pa over the highest rail pressure of the log
)

// asNew is how many times its planned, aged flow a pump may give that has not
// aged yet: the plan's ageing is a reserve and no prediction.
func (p predictor) asNew() float64 {
	least := fuel.Ageing
	for _, pump := range p.s.Pumps {
		if pump.Ageing > 0 {
			least = min(least, pump.Ageing)
		}
	}
	return mostPump / float64(least)
}

func agedText(x float64) string {
	if x < 1.005 {
		return ""
	}
	return fmt.Sprintf("pump at %s of its aged flow", quantity.Format(quantity.Fraction(x), "%", 0))
}

// models are the plan and its faults, in the order in which a tie is decided.
func (p predictor) models() []model {
	out := []model{
		{name: AsPlanned, from: 1, to: p.asNew(), within: true, fault: pumping, planned: true, text: agedText, next: "nothing: prove the reserve apart from this (L04c)"},
	}
	if p.voltsLogged() {
		out = append(out, model{name: "voltage at the pump", from: 1, to: p.asNew(), within: true, fault: pumping,
			text: func(x float64) string {
				text := fmt.Sprintf("the planned pump does this on the logged volts, down to %s of the planned %s", quantity.Format(p.lowestVolts(), "V", 1), quantity.Format(p.volts, "V", 1))
				if aged := agedText(x); aged != "" {
					text += ", " + aged
				}
				return text
			},
			next: "split the volts lost, source to pump and pump to ground, at load (V-11); jump-feed the pump (DT03)"})
	}
	out = append(out,
		model{name: "pump gives less", from: leastPump, to: 1, fault: pumping,
			text: func(x float64) string {
				return fmt.Sprintf("%s of the planned pump's flow", quantity.Format(quantity.Fraction(x), "%", 0))
			},
			next: "timed flow at pressure against the curve (V-12); pump volts and current at load (V-11) (D01k)"},
		model{name: "pump relief", from: p.lowestRail(), to: p.highestRail() + reliefBeyond, fault: relieved,
			text: func(x float64) string {
				return "no flow beyond " + bar(quantity.Difference(x)) + " at the pump"
			},
			next: "measure the static stall pressure; compare it with the relief's rating (DT01)"},
	)
	if p.s.Regulator.Kind == fuel.Referenced {
		out = append(out,
			model{name: "reference leak", from: ratioLeast, to: 1, fault: leaking,
				text: func(x float64) string { return fmt.Sprintf("rail follows boost with a slope of %.2f", x) },
				next: "slope with a hand pump on the regulator (V-07) (DT08)"},
			model{name: "no reference", fault: vented, text: func(float64) string { return "rail does not follow the manifold" },
				next: "reference hose off and on at idle (V-08): hose off or blocked, or the wrong regulator (DT09)"})
	}
	out = append(out,
		model{name: "offset", from: -offsetMost, to: offsetMost, fault: offset,
			text: func(x float64) string { return bar(quantity.Difference(x)) + " off the planned base everywhere" },
			next: "zero of the sensor, second gauge, base pressure with the hose off (DT06)"},
		model{name: "restriction to the injectors", to: lossMost, fault: p.restricted,
			text: func(x float64) string {
				return bar(quantity.Difference(x)) + " lost between the regulated point and the injectors at the planned flow"
			},
			next: "gauge at both ends of the feed at full flow (DT02)"})
	if p.s.Return != nil {
		out = append(out, model{name: "blocked upstream", to: blockedMost, fault: p.blocked,
			text: func(x float64) string {
				return bar(quantity.Difference(x)) + " more lost between pump and regulator at the planned flow"
			},
			next: "filter drop at full flow (V-14), look at the sock, lines and check valve (D02n)"})
	}
	return out
}

// pumping has the pumps give so much of their planned flow.
func pumping(s fuel.System, left float64) fuel.System {
	s.Pumps = slices.Clone(s.Pumps)
	for i := range s.Pumps {
		s.Pumps[i].Curve = slices.Clone(s.Pumps[i].Curve)
		for k := range s.Pumps[i].Curve {
			s.Pumps[i].Curve[k].Flow *= quantity.Flow(left)
		}
	}
	return s
}

func relieved(s fuel.System, at float64) fuel.System {
	s.Pumps = slices.Clone(s.Pumps)
	for i := range s.Pumps {
		s.Pumps[i] = s.Pumps[i].Relieved(quantity.Difference(at))
	}
	return s
}

func leaking(s fuel.System, ratio float64) fuel.System {
	s.Regulator.Ratio = quantity.Fraction(ratio)
	return s
}

func vented(s fuel.System, _ float64) fuel.System {
	s.Regulator.Kind = fuel.Vented
	return s
}

func offset(s fuel.System, by float64) fuel.System {
	s.Regulator.Base += quantity.Gauge(by)
	return s
}

// restricted has the regulator before a narrow place, as in a module in the tank.
func (p predictor) restricted(s fuel.System, loss float64) fuel.System {
	s.Return, s.Regulator.Place = nil, fuel.BeforeRail
	return p.narrowed(s, loss)
}

func (p predictor) blocked(s fuel.System, loss float64) fuel.System { return p.narrowed(s, loss) }

func (p predictor) narrowed(s fuel.System, loss float64) fuel.System {
	s.Feed.Drops = append(slices.Clone(s.Feed.Drops), fuel.Drop{Name: "narrow place", Difference: quantity.Difference(loss), Flow: p.demand})
	return s
}

func (p predictor) voltsLogged() bool { return !math.IsNaN(float64(p.lowestVolts())) }

func (p predictor) lowestVolts() quantity.Voltage {
	low := quantity.Voltage(math.NaN())
	for _, at := range p.points {
		if v := at.PumpVoltage; !math.IsNaN(float64(v)) && !(v >= low) {
			low = v
		}
	}
	return low
}

func (p predictor) lowestRail() float64 {
	low := math.Inf(1)
	for _, at := range p.points {
		low = min(low, p.rail(at))
	}
	return low
}

func (p predictor) highestRail() float64 {
	high := math.Inf(-1)
	for _, at := range p.points {
		high = max(high, p.rail(at))
	}
	return high
}

// rail is the gauge pressure of the rail in Pa.
func (p predictor) rail(at datalog.Point) float64 {
	return float64(at.Drop) + float64(at.Manifold-p.s.Site.Barometer)
}
