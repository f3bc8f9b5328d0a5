package planning

import (
	"feedproof/checklist/fuel"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// AssumedSpell is how long a pick-up is taken to draw air where the plan does
// not say: a long corner (common practice).
const AssumedSpell = quantity.Duration(6)

// Endurance is how long a full reservoir or surge tank lasts at full load with
// its pick-up or lift pump dry.
type Endurance struct {
	Holder  fuel.Holder
	Volume  quantity.Volume
	Spell   quantity.Duration // longest dry spell
	Inside  bool              // nothing but what is burnt leaves it
	Said    bool              // where the return ends, or that there is none
	Leaving quantity.Flow
	Lasts   quantity.Duration
}

// Return says in words where the return ends.
func (e Endurance) Return() string {
	switch {
	case e.Inside:
		return "what the engine burns leaves it"
	case e.Said:
		return "the whole flow of a new pump leaves it, for the return ends elsewhere"
	}
	return "the whole flow of a new pump leaves it, for nothing says that the return ends in it"
}

// EnduranceOf is that of the surge tank, else of the reservoir, of the plan; its
// holder is empty when it has none.
//
// Errors: a volume that is not known; what [Compute] refuses. Holder, Inside and
// Said are set all the same.
func EnduranceOf(c *state.Car) (Endurance, error) {
	if c.Plan == nil {
		return Endurance{}, nil
	}
	e, written := holder(*c.Plan)
	if e.Holder == "" {
		return e, nil
	}
	var err error
	if e.Volume, err = written.SI(); err != nil {
		return e, err
	}
	r, err := Compute(c)
	if err != nil {
		return e, err
	}
	e.Leaving = r.Delivery.New
	if e.Inside {
		e.Leaving = r.Demand.Volume
	}
	e.Lasts = fuel.ReservoirEndurance(e.Volume, e.Leaving)
	return e, nil
}

func holder(p schema.PlanData) (Endurance, schema.Q[quantity.Volume]) {
	e := Endurance{Spell: AssumedSpell}
	if e.Inside, e.Said = returnInside(p); p.Surge != nil {
		e.Holder = fuel.HoldsSurge
		if spell := p.Surge.Dry.Or(0); spell > 0 {
			e.Spell = spell
		}
		return e, p.Surge.Volume
	}
	if p.Tank == nil || p.Tank.Reservoir.IsZero() {
		return e, schema.Q[quantity.Volume]{}
	}
	e.Holder = fuel.HoldsReservoir
	return e, p.Tank.Reservoir
}

func returnInside(p schema.PlanData) (inside, said bool) {
	switch {
	case p.Return == nil:
		return true, true
	case p.Surge != nil:
		return p.Surge.Return == schema.IntoSurge, p.Surge.Return != ""
	case p.Tank == nil:
		return false, false
	}
	answer := p.Tank.ReturnInside
	return answer == schema.Yes, answer == schema.Yes || answer == schema.No
}
