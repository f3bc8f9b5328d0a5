package rules

import (
	"fmt"
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
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

// lacking is the finding for a reading or input that is not there, or does not
// count any more: never OK.
func lacking(f schema.Finding, why code.Code, values ...schema.Amount) []schema.Finding {
	f.Severity, f.Code, f.Measured, f.Values, f.Entries = schema.Unproven, why, NotYet, values, nil
	return []schema.Finding{f}
}

// outdated is lacking for a reading before which a part was changed.
func outdated(f schema.Finding, changed string) []schema.Finding {
	return lacking(f, code.Changed, called("changed", changed))
}

// Waits reports a finding that only waits for something to be recorded.
func Waits(f schema.Finding) bool {
	return f.Severity == schema.Unproven && slices.Contains([]code.Code{code.Missing, code.Incomplete, code.Changed, code.Unmeasured, code.Unwitnessed}, f.Code)
}

// NotYet is what a finding measured when nothing was recorded.
const NotYet = "not recorded"

// unproven turns a graded finding into UNPROVEN because of its gauge.
func unproven(f schema.Finding, trouble doubt) schema.Finding {
	if f.Severity >= schema.Hold {
		return f
	}
	return worthless(f, trouble)
}

// worthless is UNPROVEN whatever was read: it was not read of what it is about.
func worthless(f schema.Finding, trouble doubt) schema.Finding {
	f.Severity = schema.Unproven
	return doubted(f, trouble)
}

func ids(entries ...schema.Entry) []string {
	var out []string
	for _, e := range entries {
		out = append(out, e.ID)
	}
	return out
}

// invalidated says that a reading was made before a part changed, and must be
// made again.
func invalidated(c *state.Car, r state.Reading, positions ...string) (changed string, gone bool) {
	ch, ok := c.ChangedAfter(r.Entry, positions...)
	return ch.Position, ok
}
