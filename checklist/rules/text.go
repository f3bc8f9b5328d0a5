package rules

import (
	"fmt"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// pressure is any of the three kinds of pressure.
type pressure interface {
	quantity.Gauge | quantity.Difference | quantity.Absolute
	quantity.Quantity
}

// bar prints a pressure in both systems: "3.00 bar (43.5 psi)".
func bar[Q pressure](p Q) string {
	return both(p, "bar", 2, "psi", 1)
}

// finely prints a small pressure in both systems.
func finely[Q pressure](p Q) string {
	return both(p, "bar", 3, "psi", 2)
}

// flow prints a volume flow in both systems.
func flow(q quantity.Flow) string { return both(q, "L/h", 1, "gph", 1) }

// kilowatts prints a power in both systems.
func kilowatts(p quantity.Power) string { return both(p, "kW", 0, "hp", 0) }

func both[Q quantity.Quantity](q Q, si string, d1 int, us string, d2 int) string {
	return fmt.Sprintf("%s (%s)", quantity.Format(q, si, d1), quantity.Format(q, us, d2))
}

// missing is the finding for a reading or input that is not there: never OK.
func missing(rule, about, limit, next string) []schema.Finding {
	return []schema.Finding{{
		Rule: rule, Severity: schema.Unproven, About: about, Measured: NotYet, Limit: limit,
		Means: "nothing shows it yet", Next: next,
	}}
}

// NotYet is what a finding measured when nothing was recorded.
const NotYet = "not recorded"

// unproven turns a graded finding into UNPROVEN because of its gauge.
func unproven(f schema.Finding, trouble string) schema.Finding {
	if f.Severity >= schema.Hold {
		return f
	}
	return worthless(f, trouble)
}

// worthless is UNPROVEN whatever was read: it was not read of what it is about.
func worthless(f schema.Finding, trouble string) schema.Finding {
	f.Severity = schema.Unproven
	f.Means = "the reading proves nothing: " + trouble
	f.Next = "read again with a gauge that is in date and fine enough"
	return f
}

func ids(entries ...schema.Entry) []string {
	var out []string
	for _, e := range entries {
		out = append(out, e.ID)
	}
	return out
}

// invalidated says that a reading was made before a part changed or a joint
// was opened, and must be made again.
func invalidated(c *state.Car, r state.Reading, positions ...string) (string, bool) {
	if ch, ok := c.ChangedAfter(r.Entry, positions...); ok {
		return fmt.Sprintf("%s changed after it", ch.Position), true
	}
	return "", false
}
