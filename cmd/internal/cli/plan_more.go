package cli

import (
	"feedproof/schema"

	"github.com/spf13/pflag"
)

// moreParts are the parts of a plan that only some cars have.
type moreParts struct {
	carburettor schema.CarburettorPlan
	suction     schema.SuctionPlan
	surge       schema.SurgePlan
	link        schema.LinePlan // from rail to rail
}

func (m *moreParts) own(d schema.PlanData) {
	copyInto(&m.carburettor, d.Carburettor)
	copyInto(&m.suction, d.Suction)
	copyInto(&m.surge, d.Surge)
	if d.Rails != nil {
		copyInto(&m.link, d.Rails.Link)
	}
}

// finish puts what holds something into the plan. A carburettor stands in the
// place of regulator and injectors.
func (m moreParts) finish(d *schema.PlanData) {
	d.Carburettor, d.Suction, d.Surge = filled(m.carburettor), filled(m.suction), filled(m.surge)
	if d.Carburettor != nil {
		d.Regulator, d.Injectors = nil, nil
	}
	if d.Rails != nil {
		d.Rails.Link = filled(m.link)
	}
}

func (f *planInputs) addMore(set *pflag.FlagSet) {
	e, m, t := &f.data.Engine, &f.more, &f.tank
	measure(set, &f.data.Correction, "correction", "power as printed over power as observed")
	measure(set, &e.Displaced, "displacement", "by air: displacement")
	measure(set, &e.Filling, "filling", "by air: volumetric efficiency")
	measure(set, &e.Charge, "charge", "by air: temperature in the manifold")
	measure(set, &e.IdleFuel, "idle-fuel", "idle: fuel burnt")
	measure(set, &e.IdleSpeed, "idle-rpm", "idle: engine speed")
	measure(set, &e.IdleIntake, "idle-manifold", "idle: manifold pressure, as kPa abs")
	measure(set, &f.data.Acceleration, "acceleration", "longest forward acceleration")
	measure(set, &f.data.Regulator.Ratio, "ratio", "regulator: rising rate (default 1)")
	measure(set, &f.data.Regulator.Rating, "regulator-rating", "regulator: highest pressure it can hold")
	measure(set, &m.carburettor.Pressure, "carb-pressure", "carburettor: pressure at its inlet; instead of regulator and injectors")
	set.IntVar(&m.carburettor.Seats, "carb-seats", m.carburettor.Seats, "carburettor: needle seats, all together")
	measure(set, &m.carburettor.Seat, "carb-seat", "carburettor: bore of a seat")
	measure(set, &m.carburettor.Bowls, "carb-bowls", "carburettor: bowls, all together")
	addLine(set, &m.suction.Line, "suction")
	measure(set, &m.suction.Level, "suction-level", "suction: fuel above the pump, at the lowest")
	measure(set, &m.suction.OverVented, "suction-over", "suction: pressure kept over the fuel")
	measure(set, &m.surge.Volume, "surge", "surge tank: volume")
	set.StringVar(&m.surge.Lift, "lift", m.surge.Lift, "surge tank: lift pump, a part of the shop")
	measure(set, &m.surge.Pressure, "lift-pressure", "surge tank: pressure the lift pump works against")
	measure(set, &m.surge.Voltage, "lift-volts", "surge tank: volts at the lift pump")
	measure(set, &m.surge.Dry, "lift-dry", "surge tank: longest time the lift pump draws air")
	choice(set, &m.surge.Return, "surge-return", "surge tank: where the main pump's return line ends")
	measure(set, &t.Volume, "tank", "tank: volume")
	measure(set, &t.Unpumpable, "tank-unpumpable", "tank: what stays in it")
	measure(set, &t.Length, "tank-length", "tank: length along the acceleration asked about")
	measure(set, &t.Height, "tank-height", "tank: height")
	measure(set, &t.Gasket, "tank-gasket", "tank module: pressed gasket and seat")
	measure(set, &t.Gap, "tank-gap", "tank module: gap under the pick-up, 0 for a sprung foot")
	measure(set, &t.PickUp, "tank-pick-up", "tank: pick-up from the wall the fuel runs to")
	measure(set, &t.Cornering, "cornering", "tank: highest lateral acceleration")
	addLine(set, &m.link, "link")
}
