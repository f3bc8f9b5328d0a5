package checklist

import (
	"cmp"
	"slices"

	"feedproof/checklist/datalog"
	"feedproof/checklist/fuel"
	"feedproof/checklist/planning"
	"feedproof/checklist/rules"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// LogConditions is what the car's record knows beside a log: cylinders, the
// last base pressure, injectors on the plan's fuel, consumption and the lambda
// that was planned. What the record does not hold stays unknown, and what
// depends on it is then said to be unproven.
func LogConditions(c *state.Car) datalog.Conditions {
	known := datalog.Conditions{Cylinders: c.Vehicle.Cylinders}
	if r, ok := c.Last("base"); ok {
		if v, ok := r.Value("rail"); ok {
			if p, err := quantity.Of[quantity.Gauge](v.Written()); err == nil {
				known.Base = quantity.Difference(p)
			}
		}
	}
	s, err := planning.System(c)
	if err != nil {
		return known
	}
	known.Consumption, known.Target = s.Engine.BSFC, s.Engine.Lambda
	known.Injectors = logInjectors(s)
	return known
}

func logInjectors(s fuel.System) datalog.Injectors {
	blend, err := s.Fuel.Blend()
	if err != nil || s.Injectors == nil || len(s.Injectors.DeadTime) == 0 {
		return datalog.Injectors{}
	}
	static, err := s.Injectors.Static(blend.Density, s.Injectors.RatedDifference)
	if err != nil {
		return datalog.Injectors{}
	}
	return datalog.Injectors{Count: s.Injectors.Count, Static: static, Rated: s.Injectors.RatedDifference, Dead: deadTime(*s.Injectors)}
}

// deadTime holds the ends of the table beyond it: a log's volts may leave it
// for a moment.
func deadTime(i fuel.Injectors) func(quantity.Voltage, quantity.Difference) quantity.Duration {
	byVolts := func(a, b fuel.DeadTime) int { return cmp.Compare(a.Voltage, b.Voltage) }
	low, high := slices.MinFunc(i.DeadTime, byVolts).Voltage, slices.MaxFunc(i.DeadTime, byVolts).Voltage
	return func(v quantity.Voltage, _ quantity.Difference) quantity.Duration {
		t, err := i.DeadTimeAt(min(max(v, low), high))
		if err != nil {
			return 0
		}
		return t
	}
}

// LogEntry is the entry that keeps a log's hash, mapping, gates, worst values
// and verdicts for the rules, and what it takes to read the kept file again.
func LogEntry(file, run string, bytes int64, r datalog.Result, k datalog.Conditions, p Prediction) schema.DatalogData {
	d := schema.DatalogData{File: file, SHA256: r.Mapping.SHA256, Bytes: bytes, Run: run, Worst: rules.LogValues(r), Verdicts: append(rules.LogVerdicts(r), p.verdict())}
	for _, c := range r.Mapping.Columns {
		if c.Channel != datalog.NotUsed {
			d.Mapping = append(d.Mapping, schema.ChannelMap{Column: c.Column, Channel: string(c.Channel), Unit: c.Unit, Sensor: string(c.Sensor), Events: c.Events})
		}
	}
	for _, g := range r.Gates() {
		d.Gates = append(d.Gates, schema.NamedValue{Name: g.Name, Value: g.At.Value, Unit: g.At.Unit})
	}
	d.Gates = append(d.Gates, readAgain(r.Mapping, k)...)
	return d
}

// PredictedVerdict is the id under which a log's entry keeps what the network
// of the plan said.
const PredictedVerdict = rules.LogPredicted

func (p Prediction) verdict() schema.Verdict {
	v := schema.Verdict{ID: PredictedVerdict, State: string(datalog.CannotTell), Text: p.Why}
	switch {
	case p.Known && p.Named == AsPlanned:
		v.State, v.Text = string(datalog.NotSeen), p.Text
	case p.Known:
		v.State, v.Text = string(datalog.Seen), p.Text
	}
	return v
}

// Names among the gates of what it takes to read a kept file again.
const (
	gateHeader    = "header"
	gateScale     = "lambda 1 on the scale of "
	gateFilter    = "filter of "
	gateBarometer = "barometer, given"
	gateBase      = "base, read apart"
	gateHoseFrom  = "reference hose off from"
	gateHoseTo    = "reference hose off to"
	gateCharger   = "battery charger"
)

func readAgain(m datalog.Mapping, k datalog.Conditions) []schema.NamedValue {
	out := []schema.NamedValue{{Name: gateHeader, Value: m.Header}}
	for _, c := range m.Columns {
		if c.Stoich != "" {
			out = append(out, schema.NamedValue{Name: gateScale + c.Column, Value: c.Stoich})
		}
		if c.Filter != "" {
			out = append(out, schema.NamedValue{Name: gateFilter + c.Column, Value: c.Filter})
		}
	}
	add := func(name string, known bool, w quantity.Written) {
		if known {
			out = append(out, schema.NamedValue{Name: name, Value: w.Value, Unit: w.Unit})
		}
	}
	hose := k.HoseOff.To > k.HoseOff.From
	add(gateHoseFrom, hose, quantity.Write(k.HoseOff.From, "s", 3))
	add(gateHoseTo, hose, quantity.Write(k.HoseOff.To, "s", 3))
	add(gateBarometer, k.Barometer > 0, quantity.Write(k.Barometer, "kPa abs", 2))
	add(gateBase, k.Base > 0, quantity.Write(k.Base, "bar", 4))
	add(gateCharger, k.Charger != datalog.Unknown, quantity.Written{Value: string(k.Charger)})
	return out
}

// LogMapping is the mapping that an entry keeps.
func LogMapping(d schema.DatalogData) datalog.Mapping {
	m := datalog.Mapping{Header: kept(d, gateHeader).Value}
	for _, c := range d.Mapping {
		m.Columns = append(m.Columns, datalog.Column{
			Column: c.Column, Channel: datalog.Channel(c.Channel), Unit: c.Unit, Sensor: datalog.Sensor(c.Sensor), Events: c.Events,
			Stoich: kept(d, gateScale+c.Column).Value, Filter: kept(d, gateFilter+c.Column).Value,
		})
	}
	return m
}

// ReadAgain puts what an entry keeps of the conditions of its log in the place
// of those of another.
func ReadAgain(d schema.DatalogData, k datalog.Conditions) datalog.Conditions {
	k.HoseOff = datalog.Span{From: keptAs[quantity.Duration](d, gateHoseFrom), To: keptAs[quantity.Duration](d, gateHoseTo)}
	k.Barometer, k.Base = keptAs[quantity.Absolute](d, gateBarometer), keptAs[quantity.Difference](d, gateBase)
	k.Charger = datalog.Answer(kept(d, gateCharger).Value)
	return k
}

func kept(d schema.DatalogData, name string) schema.NamedValue {
	i := slices.IndexFunc(d.Gates, func(v schema.NamedValue) bool { return v.Name == name })
	if i < 0 {
		return schema.NamedValue{}
	}
	return d.Gates[i]
}

// keptAs is a kept value, zero when there is none.
func keptAs[Q quantity.Quantity](d schema.DatalogData, name string) Q {
	v := kept(d, name)
	if v.Value == "" {
		return 0
	}
	q, err := quantity.Of[Q](quantity.Written{Value: v.Value, Unit: v.Unit})
	if err != nil {
		return 0
	}
	return q
}
