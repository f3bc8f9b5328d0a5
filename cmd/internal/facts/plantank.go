package facts

import (
	"fmt"

	"feedproof/checklist"
	"feedproof/checklist/fuel"
	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema/quantity"
)

// Names of rows that a rule judges.
const (
	rowReservoir = "reservoir at full load"
	rowSurge     = "surge tank at full load"
	rowPickUp    = "pick-up in the corner"
	rowWear      = "flow margin by timed flows"
)

// tank is what the plan says of where the fuel stands, and for how long.
func (p *PlanPage) tank(c *state.Car, r fuel.Result) {
	if head := r.Pressures.Acceleration; head > 0 {
		p.row("held against acceleration", both(head, "bar", 2, "psi", 1), quantity.Format(c.Plan.Acceleration.Or(0), "g", 2)+" forward, on the fuel of the feed line")
	}
	if t := r.Tank; t != nil {
		if t.PerHour > 0 {
			p.row("heating of the tank", fmt.Sprintf("%s in an hour", quantity.Format(t.PerHour, "K", 0)), "of "+quantity.Format(t.PerHourIn, "L", 1)+", at the pumps' whole power and with no loss to the air")
		}
	}
	p.hanger(c)
	p.pickUp(c)
	p.endurance(c)
	p.wear(c)
}

// hanger is how long the hanger of a tank module must be cut.
func (p *PlanPage) hanger(c *state.Car) {
	if cut, known := planning.HangerCut(c); known {
		t := c.Plan.Tank
		p.row("hanger cut to", quantity.Format(cut, "mm", 1), fmt.Sprintf("depth as %s read it, + %s gasket, - %s gap", people(len(planning.Depths(c))), t.Gasket, t.Gap))
	}
}

func people(n int) string {
	if n == 1 {
		return "one person"
	}
	return fmt.Sprintf("%d people", n)
}

// wear is the margin that the timed flows of all visits leave.
func (p *PlanPage) wear(c *state.Car) {
	w, err := checklist.Wear(c)
	if err != nil || len(w.Tests) == 0 {
		return
	}
	p.row(rowWear, fmt.Sprintf("%.2f, at least %.2f", float64(w.Margin), float64(w.Low)), fmt.Sprintf("%d timed flows of these pumps; %s", len(w.Tests), w.Outlook()))
}

func (p *PlanPage) pickUp(c *state.Car) {
	t := c.Plan.Tank
	if t == nil || !t.Cornering.Known() {
		return
	}
	p.row(rowPickUp, t.Cornering.String(), "to the side, at the lowest level of the envelope")
}

func (p *PlanPage) endurance(c *state.Car) {
	e, err := planning.EnduranceOf(c)
	if err != nil || e.Holder == "" {
		return
	}
	p.row(string(e.Holder)+" at full load", quantity.Format(e.Lasts, "s", 1), quantity.Format(e.Volume, "L", 2)+"; "+e.Return())
}
