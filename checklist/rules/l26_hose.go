package rules

import (
	"math"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

// clearVacuum is more than the rail may be off: it must show.
const clearVacuum = quantity.Difference(0.1 * quantity.Bar)

var hoseScale = scale{{0.05 * quantity.Bar, schema.Flag}, {0.10 * quantity.Bar, schema.Hold}}

var _ = register(Rule{
	ID: "L26", Title: "idle: reference hose off and on",
	What:    "At idle the rail must fall by just the manifold vacuum when the reference hose goes on. It does not apply to a regulator that has no reference.",
	Formula: "deviation = |(rail_off - rail_on) - (barometer - manifold)|",
	Limits:  "OK to 0.05 bar (0.7 psi), FLAG to 0.10 bar, HOLD beyond; no fall at all: BLOCK",
	Source:  "common practice; 20 inHg is 0.677 bar (NIST SP 811)",
	Means:   "The hose is blocked, leaking or on the wrong port, or the regulator sticks. At altitude the fall is smaller and still right.",
	Next:    "Hand pump on the hose: 1:1 and holds? Smell the hose: wet means the diaphragm is broken.",
	Words: Words{
		code.Missing:    {"nothing shows it yet", "at idle: feedproof read CAR idle off=... on=... manifold=..."},
		code.Incomplete: {"nothing shows it yet", "read rail pressure hose off and on, and manifold pressure as kPa abs or inHg vacuum"},
		code.Outside:    {"the regulator does not follow the manifold", handPump},
		code.Still:      {"nothing changes: the reference is blocked, off, or there is none", handPump},
	},
	Shop:  atMostOwn[quantity.Difference](hoseScale),
	Judge: inVisit(judgeHose),
})

const handPump = "hand pump on the hose, look for a split, a tee or the wrong port"

func judgeHose(c *state.Car) []schema.Finding {
	if !referenced(c) {
		return nil
	}
	limit := "vacuum +- " + bar(quantity.Difference(hoseScale[0].above))
	f := schema.Finding{Rule: "L26", Subject: "idle", About: "idle hose off and on", Limit: limit}
	r, ok := c.Last("idle")
	if !ok {
		return lacking(f, code.Missing)
	}
	if why, gone := invalidated(c, r, "regulator"); gone {
		return outdated(f, why)
	}
	off, ok1 := read[quantity.Gauge](c, r, "off")
	on, ok2 := read[quantity.Gauge](c, r, "on")
	v, _ := r.Value("manifold")
	m, ok3 := manifold(c, r, v)
	if !ok1 || !ok2 || !ok3 {
		return lacking(f, code.Incomplete)
	}
	return hoseFinding(c, r, off, on, m, limit)
}

func hoseFinding(c *state.Car, r state.Reading, off, on measured[quantity.Gauge], m measured[quantity.Absolute], limit string) []schema.Finding {
	s, limit := shopScale[quantity.Difference](c, "L26", limit, hoseScale)
	fall, vacuum := off.value.Minus(on.value), quantity.Difference(barometer(r)-m.value)
	u := math.Hypot(apart(off, on), float64(m.u))
	f := schema.Finding{
		Rule: "L26", Subject: "idle", Values: []schema.Amount{give("fall", fall, u), amount("vacuum", vacuum)}, Limits: []schema.Bound{inside("fall", vacuum-quantity.Difference(s[0].above), vacuum+quantity.Difference(s[0].above))}, About: "idle hose off and on", Entries: ids(r.Entry),
		Measured: "rail fell " + bar(fall) + ", vacuum " + bar(vacuum), Limit: limit,
	}
	f = weigh(f, s, math.Abs(float64(fall-vacuum)), u)
	if !exceeds(float64(fall), float64(off.diff)) && exceeds(float64(vacuum), float64(clearVacuum)) {
		f.Severity, f.Code = schema.Block, code.Still
	}
	return decided(f, firstOf(off.trouble, on.trouble, m.trouble))
}

// referenced reports that the car has, or may have, a regulator that follows
// the manifold. Not known counts as yes.
func referenced(c *state.Car) bool {
	return injected(c) && c.MayReference()
}
