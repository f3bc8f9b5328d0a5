package rules

import (
	"slices"

	"feedproof/checklist/datalog"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

// A datalog entry keeps what was computed from the log, by name. Every worst
// value is that of the 0.3 s running median in loaded pulls. Writer and rules
// meet in this file only.
const (
	logPressure    = "pressure across injector" // lowest
	logShortfall   = "shortfall"                // base, reference hose off, less lowest
	logFall        = "fall"                     // light load less lowest
	logSlope       = "slope"                    // rail against manifold pressure, least squares
	logSlopeSpan   = "slope span"               // of the manifold pressure that the slope is over
	logPulsation   = "pulsation"                // peak to peak in 0.1 s
	logDuty        = "duty"                     // commanded, highest
	logDutyOff     = "duty off"                 // logged against computed
	logPressureOff = "pressure off"             // logged against computed
	logLean        = "lean"                     // lambda less target, highest
	logRich        = "rich"                     // target less lambda, highest
	logPower       = "power"                    // that the fuel flow implies, at the crank
	logVoltsLost   = "volts lost"               // battery less pump, highest
	logPumpVolts   = "pump volts"               // lowest
	logPumpCommand = "pump command"             // highest
	logFuelTemp    = "fuel temperature"         // highest, whole log
	logEthanol     = "ethanol"                  // median
	logRailZero    = "rail zero"                // lowest with the engine still
	logPumpStop    = "pump stop"                // after the engine stopped
)

// logValues writes each of them from a result.
var logValues = []func(datalog.Result) (schema.NamedValue, bool){
	worst(logPressure, "bar", 5, func(r datalog.Result) datalog.Worst[quantity.Difference] { return r.LowestDrop }),
	worst(logShortfall, "bar", 5, func(r datalog.Result) datalog.Worst[quantity.Difference] { return r.Shortfall }),
	worst(logFall, "bar", 5, func(r datalog.Result) datalog.Worst[quantity.Difference] { return r.Fall }),
	overall(logSlope, "ratio", 4, func(r datalog.Result) (quantity.Fraction, bool) { return r.Slope.Slope, r.Slope.Known }),
	overall(logSlopeSpan, "kPa", 2, func(r datalog.Result) (quantity.Difference, bool) {
		return quantity.Difference(r.Slope.Span), r.Slope.Known
	}),
	worst(logPulsation, "bar", 5, func(r datalog.Result) datalog.Worst[quantity.Difference] { return r.Pulsation }),
	worst(logDuty, "%", 4, func(r datalog.Result) datalog.Worst[quantity.Fraction] { return r.Duty }),
	worst(logDutyOff, "%", 4, func(r datalog.Result) datalog.Worst[quantity.Fraction] { return r.DutyOff }),
	worst(logPressureOff, "bar", 5, func(r datalog.Result) datalog.Worst[quantity.Difference] { return r.DropOff }),
	worst(logLean, "lambda", 6, func(r datalog.Result) datalog.Worst[quantity.Lambda] { return r.Lean }),
	worst(logRich, "lambda", 6, func(r datalog.Result) datalog.Worst[quantity.Lambda] { return r.Rich }),
	worst(logPower, "kW", 2, func(r datalog.Result) datalog.Worst[quantity.Power] { return r.Power }),
	worst(logVoltsLost, "V", 4, func(r datalog.Result) datalog.Worst[quantity.Voltage] { return r.VoltsLost }),
	worst(logPumpVolts, "V", 4, func(r datalog.Result) datalog.Worst[quantity.Voltage] { return r.PumpVoltage }),
	worst(logPumpCommand, "%", 4, func(r datalog.Result) datalog.Worst[quantity.Fraction] { return r.PumpCommand }),
	worst(logFuelTemp, "degC", 3, func(r datalog.Result) datalog.Worst[quantity.Temperature] { return r.Temperature }),
	overall(logEthanol, "%", 4, func(r datalog.Result) (quantity.Fraction, bool) { return r.Ethanol.Value, r.Ethanol.Known }),
	worst(logRailZero, "bar", 5, func(r datalog.Result) datalog.Worst[quantity.Gauge] { return r.RailZero }),
	worst(logPumpStop, "s", 3, func(r datalog.Result) datalog.Worst[quantity.Duration] {
		return datalog.Worst[quantity.Duration]{Value: r.PumpStop.After, At: r.PumpStop.At, Known: r.PumpStop.Known}
	}),
}

func worst[Q quantity.Quantity](name, unit string, decimals int, of func(datalog.Result) datalog.Worst[Q]) func(datalog.Result) (schema.NamedValue, bool) {
	return func(r datalog.Result) (schema.NamedValue, bool) {
		w := of(r)
		if !w.Known {
			return schema.NamedValue{}, false
		}
		v := quantity.Write(w.Value, unit, decimals)
		return schema.NamedValue{Name: name, Value: v.Value, Unit: v.Unit, At: quantity.Write(w.At, "s", 2).Value}, true
	}
}

// overall is a value of the whole log, which stands at no one time.
func overall[Q quantity.Quantity](name, unit string, decimals int, of func(datalog.Result) (Q, bool)) func(datalog.Result) (schema.NamedValue, bool) {
	return func(r datalog.Result) (schema.NamedValue, bool) {
		q, ok := of(r)
		v := quantity.Write(q, unit, decimals)
		return schema.NamedValue{Name: name, Value: v.Value, Unit: v.Unit}, ok
	}
}

// LogValues are the values of a log that its entry keeps for the rules.
func LogValues(r datalog.Result) []schema.NamedValue {
	var out []schema.NamedValue
	for _, value := range logValues {
		if v, ok := value(r); ok {
			out = append(out, v)
		}
	}
	return out
}

// LogVerdicts are what its entry keeps of a log's proofs and signatures. A
// limit that the log cannot prove stands under the limit's id, with why; what
// concerns no limit alone, under the name of the check.
func LogVerdicts(r datalog.Result) []schema.Verdict {
	var out []schema.Verdict
	for _, p := range r.Proofs {
		if p.State == datalog.Proven {
			continue
		}
		for _, limit := range p.Limits {
			out = append(out, schema.Verdict{ID: limit, State: string(p.State), Text: p.Check + ": " + p.Text})
		}
		if len(p.Limits) == 0 { // concerns the whole log: for the auditor
			out = append(out, schema.Verdict{ID: p.Check, State: string(p.State), Text: p.Text})
		}
	}
	for _, s := range r.Signatures {
		out = append(out, schema.Verdict{ID: s.ID, State: string(s.State), Text: s.Name + ": " + s.Text})
	}
	return out
}

// lastPull is the last loaded log of the visit, unless one of the positions
// changed after it.
func lastPull(c *state.Car, changes ...string) (state.Log, bool) {
	for i := len(c.Logs) - 1; i >= 0; i-- {
		l := c.Logs[i]
		if !c.InVisit(l.Entry) || l.Data.Run == "idle" {
			continue
		}
		_, gone := c.ChangedAfter(l.Entry, changes...)
		return l, !gone
	}
	return state.Log{}, false
}

// logged is a value of a log and when it stood, in the log's time.
func logged[Q quantity.Quantity](l state.Log, name string) (q Q, at string, ok bool) {
	i := slices.IndexFunc(l.Data.Worst, func(v schema.NamedValue) bool { return v.Name == name })
	if i < 0 {
		return 0, "", false
	}
	v := l.Data.Worst[i]
	q, err := quantity.Of[Q](quantity.Written{Value: v.Value, Unit: v.Unit})
	if v.At != "" {
		at = " at " + v.At + " s"
	}
	return q, at, err == nil
}

// logTrouble is why a log cannot prove a limit; empty when it can.
func logTrouble(l state.Log, limit string) string {
	i := slices.IndexFunc(l.Data.Verdicts, func(v schema.Verdict) bool {
		return v.ID == limit && v.State == string(datalog.Unproven)
	})
	if i < 0 {
		return ""
	}
	return l.Data.Verdicts[i].Text
}

// loadChanges are the positions whose change voids a loaded log.
var loadChanges = []string{"pump", "injectors", "regulator", "filter", "wiring", "plan"}

// fromLog judges one value of the last loaded log against a scale. Values of a
// log are compared as they are: medians of 0.3 s, and differences on one
// sensor. It says nothing without a log.
type fromLog[Q quantity.Quantity] struct {
	rule, about, limit string
	value              string
	scale              scale
	print              func(Q) string
	over               code.Code // of a value over its limit; empty: outside
	needed             string    // why a log without the value proves nothing; empty: such a log is not judged
}

func (l fromLog[Q]) judge(c *state.Car) []schema.Finding {
	log, ok := lastPull(c, loadChanges...)
	if !ok {
		return nil
	}
	f := schema.Finding{Rule: l.rule, Subject: inLog(l.value), About: l.about, Limit: l.limit, Entries: ids(log.Entry)}
	q, at, ok := logged[Q](log, l.value)
	switch {
	case !ok && l.needed == "":
		return nil
	case !ok:
		f.Measured = "not in the log"
		return []schema.Finding{unprovenLog(f, l.needed)}
	}
	f.Severity, f.Measured = l.scale.grade(float64(q)), l.print(q)+at
	f.Values, f.Limits = []schema.Amount{amount(l.value, q)}, []schema.Bound{atMost(l.value, Q(l.scale[0].above))}
	if f.Severity > schema.OK {
		f.Code = l.over
	}
	if why := logTrouble(log, l.rule); why != "" {
		return []schema.Finding{unprovenLog(f, why)}
	}
	return []schema.Finding{f}
}

func unprovenLog(f schema.Finding, why string) schema.Finding {
	if f.Severity >= schema.Hold {
		return f
	}
	f.Severity = schema.Unproven
	return doubted(f, doubtful(code.Inconclusive, called("reason", why)))
}

// inLog is the subject of what a log says of a value.
func inLog(value string) string { return "log " + value }
