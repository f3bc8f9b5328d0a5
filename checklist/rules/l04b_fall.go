package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

var _ = register(Rule{
	ID: "L04b", Title: "fall of the pressure across the injectors within a log",
	What:     "How far the pressure across the injectors falls within one log, from its median at light load (manifold 60 to 160 kPa abs) to its lowest 0.3 s under full load. A steady offset passes here, so L04a is asked as well. A log that began at high manifold pressure has no light load and proves nothing.",
	Formula:  "fall = dp(light load) - dp(lowest), both on the same sensors, so their steady errors cancel",
	Limits:   "OK to 0.10 bar (1.5 psi), FLAG to 0.20 bar, HOLD to 0.30 bar, BLOCK beyond, and end the pull",
	Source:   "common practice",
	Means:    "Fuel runs short as flow or boost rises.",
	Next:     "Fits flow squared: a restriction between the regulated point and the injectors. A knee at the top: the pump. With the volts: the wire. With manifold pressure: the reference hose.",
	Words:    Words{code.Outside: {"pressure across the injectors falls as load rises", "compare it with flow, pump volts and manifold pressure: which one does it follow?"}},
	Envelope: true,
	Judge: inVisit(func(c *state.Car) []schema.Finding {
		if !injected(c) {
			return nil
		}
		return fallInLog.judge(c)
	}),
})

var fallInLog = fromLog[quantity.Difference]{
	rule: "L04b", about: "fall within the log", limit: "at most " + bar(quantity.Difference(shortfallScale[0].above)), value: logFall,
	scale: shortfallScale, print: bar[quantity.Difference], needed: "it holds no light load, manifold 60 to 160 kPa abs, to compare with",
}
