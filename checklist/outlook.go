package checklist

import (
	"slices"

	"feedproof/checklist/fuel"
	"feedproof/checklist/planning"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// Outlook is what a plan says beyond its own numbers: how sure they are, what
// gives out first as power rises, what changing one part would buy, and
// delivery beside demand over power.
type Outlook struct {
	Ranges  fuel.Ranges
	Unsure  error // why there are no ranges: an input at the end of its tolerance leaves its table
	Support fuel.Support
	Levers  []fuel.Lever
	Series  []PowerPoint
}

// PowerPoint is delivery and demand at one power, the rest of the envelope as
// it is.
type PowerPoint struct {
	Power    quantity.Power
	Demand   quantity.Flow
	Delivery quantity.Flow
}

// rangeSeed makes the ranges the same on every machine.
const rangeSeed = 1

// Look computes the outlook of the plan, with the parts that it names.
//
// Errors: as [PlanAlone].
func Look(c *state.Car) (Outlook, error) {
	s, err := planning.Planned(c)
	if err != nil {
		return Outlook{}, err
	}
	var o Outlook
	o.Ranges, o.Unsure = fuel.Uncertainty(s, fuel.DefaultTolerances(), rangeSeed)
	if o.Support, o.Levers, err = fuel.Advise(s, fuel.PlanningCriteria(s)); err != nil {
		return Outlook{}, err
	}
	o.Series = series(s)
	return o, nil
}

// Shares of the envelope's power at which the series is computed.
const (
	seriesFrom  = 0.5
	seriesTo    = 1.5
	seriesSteps = 20
)

// series leaves out the powers at which no plan can be made.
func series(s fuel.System) []PowerPoint {
	stated := s.Engine.Power
	var out []PowerPoint
	for i := range seriesSteps + 1 {
		share := seriesFrom + (seriesTo-seriesFrom)*float64(i)/seriesSteps
		s.Engine.Power = stated * quantity.Power(share)
		r, err := fuel.Plan(s)
		if err != nil {
			continue
		}
		out = append(out, PowerPoint{Power: s.Engine.Power, Demand: r.Demand.Volume, Delivery: r.Delivery.Flow})
	}
	return out
}

// PlanIf is the calculation with inputs of the model changed, as fuel.WhatIf
// takes them: "pump-flow=+25 %", "wire-area=+50 %". Nothing is recorded.
func PlanIf(c *state.Car, changes ...string) (fuel.Result, error) {
	s, err := planning.System(c)
	if err != nil {
		return fuel.Result{}, err
	}
	for _, change := range changes {
		if s, err = fuel.WhatIf(s, change); err != nil {
			return fuel.Result{}, err
		}
	}
	return fuel.Plan(s)
}

// OutletFor is the outlet pressure of a car that is only asked about: as far over
// what its lines need as the lead's figure lies in the car as it stands. It is
// the car's own where that cannot be computed, and none where the lead gave none.
func OutletFor(now, then *state.Car) schema.Q[quantity.Gauge] {
	if !then.Plan.Outlet.Known() {
		return then.Plan.Outlet
	}
	before, err1 := planning.System(now)
	after, err2 := planning.System(then)
	if err1 != nil || err2 != nil {
		return then.Plan.Outlet
	}
	outlet := after.WithReserveOf(before).OutletPressure
	if outlet == 0 {
		return schema.Q[quantity.Gauge]{}
	}
	return schema.Write[quantity.Gauge](quantity.Write(outlet, "bar", outletDecimals))
}

// outletDecimals write a pressure to a tenth of a pascal.
const outletDecimals = 6

// ModelInput reports that [PlanIf] can change an input of that name.
func ModelInput(name string) bool {
	return slices.ContainsFunc(fuel.Inputs(), func(i [2]string) bool { return i[0] == name })
}
