package rules

import (
	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

var _ = register(Rule{
	ID: "L21", Title: "timed flow against the pump's curve",
	What: "Flow timed at pressure against the curve of the fitted pump at that same pressure and voltage, and against what the engine takes. " +
		"Two such tests agree within 3 %, which is a third of the tolerance, so the value is compared as it is.",
	Formula: "deviation = volume / time / Q(p, U) - 1; several parallel pumps: the sum of their curves",
	Limits:  "OK within 10 %; NOTE to +15 %, FLAG above it; FLAG to -15 %, HOLD below; BLOCK: less than the engine takes, at a pressure and volts no harder than full load. At least 15 s",
	Source:  "common practice",
	Means:   "Below: a worn or wrong pump, a blocked strainer, lost volts. Far above: another pump than the papers say, or a slip in writing.",
	Next:    "Read the mark on the pump, the volts at its terminals and its current, then time it again.",
	Words: Words{
		code.Outside:      {"the pump is not what its papers say", "read its mark, its volts and its current, then time it again"},
		code.Short:        {"the pump gives less than the engine takes", "another pump, or a lower envelope"},
		code.Incomparable: {"it cannot be compared with the curve: {reason}", "complete the pump's data, then check again"},
	},
	Envelope: true,
	Judge:    inVisit(judgeFlow),
})

func judgeFlow(c *state.Car) []schema.Finding {
	t, _ := lastFlow(c)
	if t.openPipe() {
		return nil
	}
	f := schema.Finding{
		Rule: "L21", Subject: "flow", Values: t.values(), About: "timed flow", Measured: t.String(), Limit: "within 10 % of the pump's curve", Entries: append(ids(t.reading.Entry), computed(c)...),
	}
	if why := t.trouble(); why.is() {
		return []schema.Finding{unproven(f, why)}
	}
	if short, ok := belowDemand(c, t, f); ok {
		return []schema.Finding{short}
	}
	expected, err := curveFlow(c, t.pressure.value, t.volts.value)
	if err != nil {
		f.Severity, f.Code, f.Limit = schema.Note, code.Incomparable, ""
		f.Values = append(f.Values, called("reason", err.Error()))
		return []schema.Finding{f}
	}
	off := float64(t.flow/expected) - 1
	f.Measured += ", the curve says " + flow(expected)
	f.Values = append(f.Values, amount("expected", expected))
	f.Severity = max(flowLow.grade(off), flowHigh.grade(off))
	return []schema.Finding{f}
}

var (
	flowLow  = floorScale{{-0.10, schema.Flag}, {-0.15, schema.Hold}}
	flowHigh = scale{{0.10, schema.Note}, {0.15, schema.Flag}}
)

// belowDemand compares with what the engine takes, when the test was no harder
// on the pump than full load is.
func belowDemand(c *state.Car, t flowTest, f schema.Finding) (schema.Finding, bool) {
	r, err := planning.Compute(c)
	if err != nil {
		return f, false
	}
	volts, _ := loadVolts(c) // known where the plan can be computed
	harder := exceeds(float64(t.pressure.value-t.pressure.u), float64(r.Pressures.Outlet)) || exceeds(float64(volts-t.volts.value), float64(flowVoltsOff))
	if harder || !exceeds(float64(r.Demand.Volume), float64(t.flow)) {
		return f, false
	}
	f.Severity, f.Limit = schema.Block, "at least the demand of "+flow(r.Demand.Volume)
	f.Code, f.Limits = code.Short, []schema.Bound{atLeast("flow", r.Demand.Volume)}
	return f, true
}
