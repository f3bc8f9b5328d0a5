package audit

import (
	"fmt"
	"math"
	"slices"

	"feedproof/checklist/fuel"
	"feedproof/checklist/past"
	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

var _ = register(Question{
	ID: "Q19", Name: "flow-ratio", Title: "Do the pumps of this part or lot still give what their papers say?",
	Args: []Arg{{Name: "LOT", What: "a part record, a lot code or a serial number"}},
	How: "Every timed flow (V-12) of a car whose one pump is of this part or lot: volume over time, divided by what the papers' curve gives at the pressure and volts of that test. " +
		"Below the rows stand how many, the mean, the least, the most and the standard deviation (n - 1).",
	Needs: "Cars with two pumps are left out, for their flow is not one pump's. `L21` judges a single test with its limits.",
}, askFlowRatio)

func askFlowRatio(a *asking) error {
	a.carColumns("visit: number", "read: when", "part: record", "flow_l_per_h: measured", "pressure_bar: at the pump", "volts_v: at its terminals", "curve_l_per_h: by the papers", "ratio: measured over the papers")
	parts, err := a.parts()
	if err != nil {
		return err
	}
	curves := map[string]fuel.Curve{}
	for _, id := range partsNamed(parts, a.args["LOT"]) {
		curve, why, err := a.curve(id)
		switch {
		case err != nil:
			return err
		case why != "":
			a.note("part %s: %s", id, why)
		default:
			curves[id] = curve
		}
	}
	var ratios []float64
	err = each(a, tableFlows, "", func(record string, rows []flowFact) error {
		for _, f := range rows {
			curve, asked := curves[f.Part]
			if !asked || f.Pumps != 1 {
				continue
			}
			expected, err := curve.Flow(quantity.Difference(f.Pressure), quantity.Voltage(f.Volts))
			if err != nil {
				a.note("entry %s: %v", f.Entry, err)
				continue
			}
			ratio := f.Flow / float64(expected)
			ratios = append(ratios, ratio)
			err = a.row(record, []string{f.Entry, f.Fit}, f.Visit, minute(f.at()), f.Part, rounded(quantity.In(quantity.Flow(f.Flow), "L/h"), 1),
				rounded(quantity.In(quantity.Gauge(f.Pressure), "bar"), 2), rounded(f.Volts, 2), rounded(quantity.In(expected, "L/h"), 1), rounded(ratio, 3))
			if err != nil {
				return err
			}
		}
		return nil
	})
	a.sortRows(3, 0)
	a.noteRatios(ratios)
	return err
}

// curve is the curve of a pump's papers, or why there is none.
func (a *asking) curve(id string) (fuel.Curve, string, error) {
	r, err := a.Record(schema.PartRecord, id)
	if err != nil {
		return fuel.Curve{}, "", err
	}
	var pump *schema.PumpData
	for _, e := range state.Standing(r) {
		if d, err := schema.Into[schema.PartData](e); err == nil {
			pump = d.Pump
		}
	}
	if pump == nil {
		return fuel.Curve{}, "is no pump with a curve", nil
	}
	curve, err := fuel.NewCurve(planning.Pump(id, *pump))
	if err != nil {
		return curve, err.Error(), nil
	}
	return curve, "", nil
}

func (a *asking) noteRatios(ratios []float64) {
	if len(ratios) == 0 {
		a.note("no timed flow of these pumps")
		return
	}
	var sum, squares float64
	for _, r := range ratios {
		sum += r
	}
	mean := sum / float64(len(ratios))
	for _, r := range ratios {
		squares += (r - mean) * (r - mean)
	}
	text := fmt.Sprintf("%d tests, mean %.3f, least %.3f, most %.3f", len(ratios), mean, slices.Min(ratios), slices.Max(ratios))
	if len(ratios) > 1 {
		text += fmt.Sprintf(", standard deviation %.3f", math.Sqrt(squares/float64(len(ratios)-1)))
	}
	a.note("%s", text)
}

var tableFlows = vehicleTable("flows", flowFacts)

// flowFact is a timed flow and the pump that gave it.
type flowFact struct {
	stamp
	Part     string  `json:"q,omitempty"`
	Fit      string  `json:"f,omitempty"`
	Pumps    int     `json:"n"`
	Visit    string  `json:"v"`
	Flow     float64 `json:"x"` // m3/s
	Pressure float64 `json:"y"` // Pa
	Volts    float64 `json:"z"` // V
}

func flowFacts(s subject) []flowFact {
	var out []flowFact
	for _, r := range s.car.Readings {
		if r.Data.Test != "flow" {
			continue
		}
		flow, ok := past.FlowOf(r.Data)
		p, ok2 := valueOf[quantity.Gauge](r, "pressure")
		u, ok3 := valueOf[quantity.Voltage](r, "volts")
		if !ok || !ok2 || !ok3 {
			continue
		}
		v, _ := past.VisitAt(s.visits, r.Entry)
		f := flowFact{stamp: *stampOf(r.Entry), Visit: v.Number, Flow: float64(flow), Pressure: float64(p), Volts: float64(u)}
		for _, k := range s.components {
			there := schema.Order(k.In, r.Entry) < 0 && (k.Out == nil || schema.Order(*k.Out, r.Entry) > 0)
			if there && state.Unnumbered(k.Data.Position) == "pump" {
				f.Pumps++
			}
			if there && k.Data.Position == "pump" {
				f.Part, f.Fit = k.Data.Part, k.In.ID
			}
		}
		out = append(out, f)
	}
	return out
}

func valueOf[Q quantity.Quantity](r state.Reading, name string) (Q, bool) {
	v, ok := r.Value(name)
	if !ok {
		return 0, false
	}
	q, err := quantity.Of[Q](v.Written())
	return q, err == nil
}
