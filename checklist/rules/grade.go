package rules

import (
	"math"

	"feedproof/schema"
	"feedproof/schema/code"
)

// step is one band of a scale: above its limit the severity holds.
type step struct {
	above    float64
	severity schema.Severity
}

// scale grades a value of which more is worse. On a limit is still inside it.
type scale []step

// exceeds compares with room for the rounding of binary fractions, so that a
// value that stands exactly on its limit is inside.
func exceeds(x, limit float64) bool {
	return x-limit > 1e-9*math.Max(math.Abs(x), math.Abs(limit))
}

// grade is the severity of an exactly known value.
func (s scale) grade(x float64) schema.Severity {
	worst := schema.OK
	if math.IsNaN(x) {
		return schema.Unproven
	}
	for _, st := range s {
		if exceeds(x, st.above) {
			worst = max(worst, st.severity)
		}
	}
	return worst
}

// decide is the severity of a value known to plus or minus u (JCGM 106:2012
// and ILAC-G8: guard band of u). It passes only when the value and its
// uncertainty fit, with u at most a third of the tolerance (to a half: FLAG);
// it fails only when they cannot fit; otherwise it is UNPROVEN.
func (s scale) decide(x, u float64) schema.Severity {
	best, worst := s.grade(math.Max(0, x-u)), s.grade(x+u)
	tolerance := s[0].above
	switch {
	case best >= schema.Hold:
		return best
	case exceeds(u, tolerance/2), worst > schema.Flag:
		return schema.Unproven
	case exceeds(u, tolerance/3):
		return max(worst, schema.Flag)
	}
	return worst
}

// scaled is either kind of scale.
type scaled interface {
	grade(x float64) schema.Severity
	decide(x, u float64) schema.Severity
}

// weigh gives a finding the severity of a value known to plus or minus u. Where
// the instrument alone keeps it from being in order, the code says so: such a
// value is not called too high, nor lean.
func weigh(f schema.Finding, s scaled, x, u float64) schema.Finding {
	f.Severity = s.decide(x, u)
	switch {
	case f.Severity == schema.OK:
		f.Code = code.Within
	case f.Severity == schema.Unproven:
		f.Code = code.Coarse
	case f.Severity == schema.Flag && s.grade(x) == schema.OK:
		f.Code = code.Roughly
	}
	return f
}

// floorScale grades a value of which less is worse. On a limit is inside.
type floorScale []step

// grade is the severity of an exactly known value; each step's limit is the
// value below which its severity holds.
func (s floorScale) grade(x float64) schema.Severity {
	worst := schema.OK
	if math.IsNaN(x) {
		return schema.Unproven
	}
	for _, st := range s {
		if exceeds(st.above, x) {
			worst = max(worst, st.severity)
		}
	}
	return worst
}

// decide is the severity of a value known to plus or minus u: fails only when
// even the better end fails, passes only when the worse end passes.
func (s floorScale) decide(x, u float64) schema.Severity {
	best, worst := s.grade(x+u), s.grade(x-u)
	switch {
	case best >= schema.Hold:
		return best
	case worst > schema.Flag:
		return schema.Unproven
	}
	return worst
}
