package rules

import (
	"fmt"
	"slices"
	"strings"

	"feedproof/checklist/fittings"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

// movedScale is how far a joint may turn when the same torque is put on again.
var movedScale = scale{{degrees(15), schema.Flag}, {degrees(45), schema.Hold}}

func degrees(x float64) float64 {
	a, _ := quantity.Of[quantity.Angle](quantity.Written{Value: figures(x), Unit: "deg"})
	return float64(a)
}

var _ = register(Rule{
	ID: "L45", Title: "torque of a joint",
	What: "Each torque that was read or recorded with a step, against what its joint can have had. The joint's name says its size, and may say its kind and what it is made of (\"37 hose nut -6, aluminium\", \"orb-m:-8\", \"M5 flange\"); " +
		"what the name leaves open stays open, and the widest range counts. A maker's number that was read with it stands in its place. And how far a joint moved under the same torque, put on again. " +
		"A number that fits another unit is named as what it is; it is kept as it was written, and nobody guesses.",
	Formula: "range of a joint: half the lowest to 1.3 times the highest of any source; of a maker's number, half to 1.3 times it, to aim at within a tenth. 12 (lbf.ft, lbf.in), 8.85 (N.m, lbf.in) and 1.36 (lbf.ft, N.m) between units",
	Limits:  "inside the range and on target: OK; inside, off target: FLAG; under it: HOLD; over it: BLOCK until it is corrected or the joint renewed. Moved 15 degrees at most: OK, to 45: FLAG, beyond: HOLD",
	Source:  "public maintenance tables for 37 degree ends (US Army TM 55-1520-240-23-1), makers' tables for bosses, metric and taper threads, each row with its own: secondary, and none of the standards was read. Factors: NIST SP 811. Moved: shop rule",
	Means:   "A unit was mixed up, or the thread, the flare or the gasket was overstrained: it leaks when it is hot.",
	Next:    "Look at the tool's scale. If the unit was wrong, correct the entry; if the torque was real, strip and inspect, and renew what was strained.",
	Words: Words{
		code.Mixed:             {"no such joint takes it; the number would fit in {would fit}", "look at the tool's scale and correct the entry; if it was real, strip and inspect"},
		code.Mixed + " target": {"it is off what the joint usually has; in {would fit} it would be on it", "which unit did the tool show? Correct the entry, or say that it is real"},
		code.Outside:           {"no such joint takes it", "correct the entry if it is a slip; if it was real, strip and inspect"},
		code.Short:             {"it is less than any such joint has", "tighten it, or correct the entry"},
		code.Roughly:           {"it is off what the joint usually has", "the maker's number wins: say which it is, or do it again"},
		code.Weak:              {"the joint relaxed", "put the same torque on again after 24 h; beyond 45 degrees strip and inspect"},
	},
	Judge: inVisit(judgeTorque),
})

// tightened is one torque that was put on a joint.
type tightened struct {
	entry  schema.Entry
	joint  string
	torque quantity.Torque
	text   quantity.Written
	maker  quantity.Written
}

func judgeTorque(c *state.Car) []schema.Finding {
	var found []schema.Finding
	all := torques(c)
	for i, t := range all {
		if f, judged := torqueFinding(c, t); judged && (f.Severity >= schema.Block || !slices.ContainsFunc(all[i+1:], t.again)) && !renewed(c, t, all[i+1:]) {
			found = append(found, f)
		}
	}
	return append(found, movedFindings(c)...)
}

// torques are those of readings and steps of the visit, in order.
func torques(c *state.Car) []tightened {
	var out []tightened
	for _, r := range c.All("torque") {
		v, known := r.Value("torque")
		torque, err := quantity.Of[quantity.Torque](v.Written())
		maker, _ := r.Value("maker")
		if known && err == nil {
			out = append(out, tightened{r.Entry, v.Port, torque, v.Written(), maker.Written()})
		}
	}
	for _, s := range c.Steps {
		torque, err := s.Data.Torque.SI()
		if err == nil && c.InVisit(s.Entry) {
			out = append(out, tightened{s.Entry, s.Data.Joint, torque, quantity.Written{Value: s.Data.Torque.Value, Unit: s.Data.Torque.Unit}, quantity.Written{}})
		}
	}
	slices.SortStableFunc(out, func(a, b tightened) int { return schema.Order(a.entry, b.entry) })
	return out
}

// again reports a later torque of the same joint.
func (t tightened) again(later tightened) bool { return strings.EqualFold(t.joint, later.joint) }

// renewed reports that the joint was opened, or a part fitted, after a torque
// and before it was tightened again: what was strained may be new.
func renewed(c *state.Car, t tightened, later []tightened) bool {
	i := slices.IndexFunc(later, t.again)
	if i < 0 {
		return false
	}
	between := func(e schema.Entry) bool { return schema.Order(e, t.entry) > 0 && schema.Order(e, later[i].entry) < 0 }
	return slices.ContainsFunc(c.Openings, func(o state.Opening) bool { return between(o.Entry) }) || slices.ContainsFunc(c.Changes, func(ch state.Change) bool { return between(ch.Entry) })
}

func torqueFinding(c *state.Car, t tightened) (schema.Finding, bool) {
	w, known := torqueWindow(c, t)
	if !known {
		return schema.Finding{}, false
	}
	f := schema.Finding{
		Rule: "L45", Subject: t.entry.ID, About: "torque, " + t.joint, Entries: ids(t.entry), Values: []schema.Amount{amount("torque", t.torque)}, Limits: []schema.Bound{inside("torque", w.Low, w.High)},
		Measured: both(t.torque, "N.m", 1, "lbf.ft", 1), Limit: fmt.Sprintf("%s to %s, usually %s to %s", newtonMetres(w.Low), newtonMetres(w.High), newtonMetres(w.TargetLow), newtonMetres(w.TargetHigh)),
	}
	units := slices.DeleteFunc(w.Units(t.text.Value), func(unit string) bool { return unit == t.text.Unit })
	slip := called("would fit", strings.Join(units, " or "))
	switch {
	case w.Inside(t.torque) && w.OnTarget(t.torque):
		f.Severity = schema.OK
	case w.Inside(t.torque):
		f.Severity, f.Code = schema.Flag, code.Roughly
		if len(units) > 0 {
			f.Subject += " target"
		}
	case t.torque < w.Low:
		f.Severity, f.Code = schema.Hold, code.Short
	default:
		f.Severity, f.Code = schema.Block, code.Outside
	}
	if f.Severity > schema.OK && len(units) > 0 {
		f.Code, f.Values = code.Mixed, append(f.Values, slip)
		f.Measured += ": as " + units[0] + " it would be " + t.text.Value + " " + units[0]
	}
	return f, true
}

// torqueWindow is what the joint can have had: by its maker, else by the table.
func torqueWindow(c *state.Car, t tightened) (fittings.Window, bool) {
	if m, err := quantity.Of[quantity.Torque](t.maker); err == nil && m > 0 {
		return fittings.MakersWindow(m), true
	}
	return fittings.Whole(fittings.Windows(t.joint))
}

func newtonMetres(t quantity.Torque) string { return quantity.Format(t, "N.m", 1) }

// movedFindings are of joints that turned when the same torque was put on again.
func movedFindings(c *state.Car) []schema.Finding {
	var found []schema.Finding
	for i, r := range c.All("torque") {
		moved, ok := timed[quantity.Angle](r, "moved")
		joint := first(r, "torque").Port
		later := slices.ContainsFunc(c.All("torque")[i+1:], func(next state.Reading) bool {
			_, again := timed[quantity.Angle](next, "moved")
			return again && strings.EqualFold(first(next, "torque").Port, joint)
		})
		if !ok || later {
			continue
		}
		f := schema.Finding{
			Rule: "L45", Subject: r.Entry.ID + " moved", About: "torque put on again, " + joint, Entries: ids(r.Entry), Values: []schema.Amount{amount("moved", moved)},
			Limits: []schema.Bound{atMost("moved", quantity.Angle(movedScale[0].above))}, Measured: "moved " + quantity.Text(moved), Limit: "at most 15 degrees",
		}
		if f.Severity = movedScale.grade(float64(moved)); f.Severity > schema.OK {
			f.Code = code.Weak
		}
		found = append(found, f)
	}
	return found
}
