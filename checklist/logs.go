package checklist

import (
	"cmp"
	"slices"

	"feedproof/checklist/car"
	"feedproof/checklist/datalog"
	"feedproof/checklist/fuel"
	"feedproof/checklist/planning"
	"feedproof/checklist/rules"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// LogConditions is what the car's record knows beside a log: cylinders, the
// last base pressure, injectors on the plan's fuel, consumption and the lambda
// that was planned. What the record does not hold stays unknown, and what
// depends on it is then said to be unproven.
func LogConditions(c *car.Car) datalog.Conditions {
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

// LogEntry is the entry that keeps a log's hash, mapping, worst values and
// verdicts for the rules.
func LogEntry(file, run string, bytes int64, r datalog.Result) schema.DatalogData {
	d := schema.DatalogData{File: file, SHA256: r.Mapping.SHA256, Bytes: bytes, Run: run, Worst: rules.LogValues(r), Verdicts: rules.LogVerdicts(r)}
	for _, c := range r.Mapping.Columns {
		if c.Channel != datalog.NotUsed {
			d.Mapping = append(d.Mapping, schema.ChannelMap{Column: c.Column, Channel: string(c.Channel), Unit: c.Unit, Sensor: string(c.Sensor), Events: c.Events})
		}
	}
	return d
}
