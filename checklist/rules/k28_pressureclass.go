package rules

import (
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

const carburettorBand = quantity.Gauge(0.03 * quantity.Bar)

var _ = register(Rule{
	ID: "K28", Title: "no injection pump straight on a carburettor", Never: true,
	What:   "A pump of the injection class on a carburettor, unless the pressure at the carburettor's inlet was read, held down to what the plan gives. A pump of unknown class is not proven.",
	Limits: "pump of the carburettor or lift class; or inlet pressure at most 0.03 bar (0.5 psi) over the plan's",
	Source: "common practice",
	Means:  "At 3 bar the needle is pushed 6.7 times as hard as at 0.45 bar: it floods and burns.",
	Next:   "A pump for carburettors, or a regulator with a return, and the pressure read at the inlet.",
	Words:  Words{otherwise: {"the pressure may push the needle open", "read the pressure at the carburettor's inlet: feedproof read CAR base ..."}},
	Judge:  inVisit(judgePressureClass),
})

func judgePressureClass(c *state.Car) []schema.Finding {
	k, _ := c.Book.Caution("K28")
	if !carburetted(c) || !c.Applies(k.When) {
		return nil
	}
	f := schema.Finding{
		Rule: "K28", Subject: "pump", Severity: schema.Unproven, Code: code.Unknown, About: "pump on the carburettor", Measured: "the class of the pump is not known", Limit: "a carburettor or lift pump, or pressure held down and read",
	}
	for _, fit := range c.Pumps() {
		f.Entries = append(f.Entries, fit.Entry.ID)
		if fit.PumpClass() == state.InjectionPump {
			f.Severity, f.Code, f.Measured = schema.Block, code.Unfit, "an injection pump"
		}
	}
	if heldDown(c) {
		return nil
	}
	return []schema.Finding{f}
}

// heldDown reports that pressure at the carburettor's inlet was read and is
// what the plan gives.
func heldDown(c *state.Car) bool {
	r, _ := c.Last("base")
	if c.Plan == nil || c.Plan.Carburettor == nil {
		return false
	}
	if _, gone := invalidated(c, r, "pump", "regulator"); gone {
		return false
	}
	m, ok := read[quantity.Gauge](c, r, "rail")
	planned, _ := c.Plan.Carburettor.Pressure.SI()
	return ok && !m.trouble.is() && !exceeds(float64(m.value), float64(planned+carburettorBand))
}
