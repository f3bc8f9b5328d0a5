package checklist

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"feedproof/checklist/datalog"
	"feedproof/checklist/fuel"
	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema/quantity"
)

// Limits of how a prediction is judged (common practice): a base pressure may
// be 0.07 bar off (L06) and a pull 0.10 bar low (L04) and still be as planned. A
// model that is further off than a pull may be low explains nothing.
const (
	asPlannedRMS   = 0.07e5 // Pa
	asPlannedWorst = 0.10e5 // Pa
	explainsRMS    = 0.10e5 // Pa
	explainsWorst  = 0.15e5 // Pa
	asGood         = 0.01e5 // Pa: two models nearer than this cannot be told apart
	predictPoints  = 32     // of the pull are asked
	fitRounds      = 4
	fitSteps       = 7
)

// Prediction is a logged pull held against the network of the plan, run at the
// logged manifold pressure, fuel flow and volts at the pump, as planned and
// with one fault at a time.
type Prediction struct {
	Known   bool
	Why     string     // why there is none
	Named   string     // the model that explains the pull; "" when none does
	Text    string     // its numbers, in words
	AsGood  []string   // other models that cannot be told from it
	Next    string     // the next check
	Models  []ModelFit // the nearest first
	Points  []datalog.Point
	Planned []quantity.Difference // across the injectors as planned, at each point; NaN where it cannot say
	Best    []quantity.Difference // by the named model
}

// ModelFit is how near a model comes to the log.
type ModelFit struct {
	datalog.Residual
	Fitted string // its one number, in words; empty when it has none
	number float64
	free   int // numbers fitted
}

// AsPlanned is the name of the model without a fault.
const AsPlanned = "as planned"

// model is the plan's system with one fault, and the number that says how much
// of it.
type model struct {
	name     string
	from, to float64 // of its number; equal when it has none
	fault    func(fuel.System, float64) fuel.System
	within   bool // its number is one that the plan allows, and no fault
	planned  bool // at the plan's volts
	text     func(float64) string
	next     string
}

// Predict runs the plan's network at the points of the worst pull and names
// what explains the pressure across the injectors.
func Predict(c *state.Car, r datalog.Result) Prediction {
	s, err := planning.System(c)
	if err != nil {
		return Prediction{Why: err.Error()}
	}
	plan, err := planning.Compute(c)
	if err != nil {
		return Prediction{Why: err.Error()}
	}
	return predict(s, plan, r)
}

func predict(s fuel.System, plan fuel.Result, r datalog.Result) Prediction {
	if s.Injectors == nil {
		return Prediction{Why: "a carburetted system has no rail to predict"}
	}
	points := predictable(r.Worst)
	if len(points) < fitSteps {
		return Prediction{Why: "needs rail and manifold pressure, pulse width or duty in a loaded pull, and injector data in the plan"}
	}
	s.Site.Barometer = plan.Barometer
	if r.Barometer.Known {
		s.Site.Barometer = r.Barometer.Value
	}
	return predictor{s, plan.Delivery.Voltage, plan.Demand.Volume, points}.run()
}

// predictable are points at which the network can be asked, thinned evenly.
// Where the volts of a slow channel are blank the last before stand.
func predictable(worst []datalog.Point) []datalog.Point {
	var all []datalog.Point
	volts := quantity.Voltage(math.NaN())
	for _, p := range slices.Backward(worst) { // the first known stands for those before it
		if !math.IsNaN(float64(p.PumpVoltage)) {
			volts = p.PumpVoltage
		}
	}
	for _, p := range worst {
		if math.IsNaN(float64(p.PumpVoltage)) {
			p.PumpVoltage = volts
		}
		volts = p.PumpVoltage
		if v := float64(p.Flow) * float64(p.Drop) * float64(p.Manifold); !math.IsNaN(v) && p.Flow > 0 && p.Drop > 0 {
			all = append(all, p)
		}
	}
	if len(all) <= predictPoints {
		return all
	}
	var out []datalog.Point
	for i := range predictPoints {
		out = append(out, all[i*(len(all)-1)/(predictPoints-1)])
	}
	return out
}

// predictor asks models about the points.
type predictor struct {
	s      fuel.System
	volts  quantity.Voltage // as planned
	demand quantity.Flow    // of the plan
	points []datalog.Point
}

func (p predictor) run() Prediction {
	out := Prediction{Known: true, Points: p.points}
	models := p.models()
	for _, m := range models {
		fit := p.fit(m)
		if fit.Asked == 0 {
			continue
		}
		out.Models = append(out.Models, fit)
		if m.name == AsPlanned && fits(fit) {
			break
		}
	}
	if len(out.Models) == 0 {
		return Prediction{Why: "the network of the plan has no answer at the logged points: " + p.refusal()}
	}
	slices.SortStableFunc(out.Models, func(a, b ModelFit) int { return cmp.Compare(a.RMS, b.RMS) })
	out.name(models)
	for _, m := range models {
		if m.name == AsPlanned {
			out.Planned = p.line(m, m.from)
		}
		if m.name == out.Named {
			out.Best = p.line(m, out.Models[0].number)
		}
	}
	return out
}

func fits(m ModelFit) bool { return m.RMS <= asPlannedRMS && m.Worst.Value <= asPlannedWorst }

// name picks the model with the fewest fitted numbers among those that come
// nearest, and puts it first.
func (p *Prediction) name(models []model) {
	nearest := p.Models[0].RMS
	var candidates []ModelFit
	for _, m := range p.Models {
		if m.Name == AsPlanned && fits(m) || m.Name != AsPlanned && m.RMS <= nearest+asGood && m.RMS <= explainsRMS && m.Worst.Value <= explainsWorst {
			candidates = append(candidates, m)
		}
	}
	if len(candidates) == 0 {
		p.Text = fmt.Sprintf("no single fault explains it: the nearest, %s, is %s off", p.Models[0].Name, bar(p.Models[0].RMS))
		p.Next = "look at the signatures; correct what the plan says of pump, lines and injectors"
		return
	}
	place := func(m ModelFit) int { return slices.IndexFunc(models, func(o model) bool { return o.name == m.Name }) }
	best := slices.MinFunc(candidates, func(a, b ModelFit) int { return cmp.Or(cmp.Compare(a.free, b.free), cmp.Compare(place(a), place(b))) })
	for _, m := range candidates {
		if m.Name != best.Name && m.Name != AsPlanned && m.free == best.free {
			p.AsGood = append(p.AsGood, m.Name)
		}
	}
	i := slices.IndexFunc(p.Models, func(m ModelFit) bool { return m.Name == best.Name })
	p.Models = slices.Insert(slices.Delete(p.Models, i, i+1), 0, best)
	p.Named = best.Name
	p.Text = best.Name
	if best.Fitted != "" {
		p.Text += ": " + best.Fitted
	}
	p.Text += fmt.Sprintf("; within %s over %d points", bar(best.RMS), best.Asked)
	p.Next = models[place(best)].next
}

func bar(p quantity.Difference) string { return quantity.Format(p, "bar", 2) }

// fit finds the number of a model that brings it nearest, by dividing its range
// again and again around the best step.
func (p predictor) fit(m model) ModelFit {
	if m.from == m.to {
		return ModelFit{Residual: p.residual(m, m.from), Fitted: m.text(m.from)}
	}
	from, to, best := m.from, m.to, ModelFit{}
	for range fitRounds {
		step := (to - from) / (fitSteps - 1)
		for i := range fitSteps {
			x := from + float64(i)*step
			if r := p.residual(m, x); r.Asked > len(p.points)/2 && (best.Asked == 0 || r.RMS < best.RMS) {
				best = ModelFit{Residual: r, number: x}
			}
		}
		from, to = max(m.from, best.number-step), min(m.to, best.number+step)
	}
	best.Fitted = m.text(best.number)
	if !m.within {
		best.free = 1
	}
	return best
}

func (p predictor) residual(m model, x float64) datalog.Residual {
	return datalog.Compare(p.points, []datalog.Hypothesis{{Name: m.name, Predict: p.ask(m, x)}})[0]
}

func (p predictor) line(m model, x float64) (out []quantity.Difference) {
	ask := p.ask(m, x)
	for _, point := range p.points {
		d, ok := ask(point)
		if !ok {
			d = quantity.Difference(math.NaN())
		}
		out = append(out, d)
	}
	return out
}

// ask runs the network at a point. The logged flow is what the injectors gave at
// the logged pressure difference; open as long, they ask for more at the
// regulated one, with the root of the two.
func (p predictor) ask(m model, x float64) datalog.Predictor {
	s := m.fault(p.s, x)
	return func(at datalog.Point) (quantity.Difference, bool) {
		o, err := p.operate(s, at, m.planned)
		if err != nil {
			return 0, false
		}
		var sum quantity.Difference
		for _, d := range o.Across {
			sum += d
		}
		return sum / quantity.Difference(len(o.Across)), true
	}
}

func (p predictor) operate(s fuel.System, at datalog.Point, planned bool) (fuel.Operation, error) {
	across := s.Regulator.Across(at.Manifold, s.Site.Barometer)
	if across <= 0 {
		return fuel.Operation{}, errors.New("no pressure is left across the injectors")
	}
	volts := p.volts
	if v := at.PumpVoltage; !planned && !math.IsNaN(float64(v)) {
		volts = v
	}
	return fuel.Operate(s, fuel.Point{
		Manifold: at.Manifold, Fuel: at.Flow * quantity.MassFlow(math.Sqrt(float64(across/at.Drop))), Voltage: volts,
	})
}

// refusal is what the network says at the first point.
func (p predictor) refusal() string {
	if _, err := p.operate(p.s, p.points[0], true); err != nil {
		return err.Error()
	}
	return "no reason given"
}
