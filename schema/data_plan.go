package schema

import "feedproof/schema/quantity"

// PlanData holds the inputs of the calculation. Results are computed from them
// and from the parts that are really fitted, and never stored.
type PlanData struct {
	Envelope  Envelope             `json:"envelope"`
	Basis     PowerBasis           `json:"basis"`         // where the power is measured
	Loss      Q[quantity.Fraction] `json:"loss,omitzero"` // drive loss, when at the wheels
	Engine    EnginePlan           `json:"engine"`
	Regulator RegulatorPlan        `json:"regulator"`
	Injectors InjectorPlan         `json:"injectors"`
	Pumps     PumpPlan             `json:"pumps"`
	Feed      *LinePlan            `json:"feed,omitempty"`
	Return    *LinePlan            `json:"return,omitempty"`
	Rails     *RailPlan            `json:"rails,omitempty"`
	Wiring    *WiringPlan          `json:"wiring,omitempty"`
	Tank      *TankPlan            `json:"tank,omitempty"`
	Fuel      *FuelPlan            `json:"fuel,omitempty"`
	Note      string               `json:"note,omitempty"`
}

// EntryKind names the kind.
func (PlanData) EntryKind() string { return "plan" }

// PowerBasis is where a power figure is measured.
type PowerBasis string

// Power bases.
const (
	AtCrank PowerBasis = "crank"
	AtWheel PowerBasis = "wheel"
)

// Values lists the words a PowerBasis may be, for the schema.
func (PowerBasis) Values() []string { return []string{"crank", "wheel"} }

// EnginePlan is the engine as the plan sees it.
type EnginePlan struct {
	Cylinders   int                             `json:"cylinders"`
	Consumption Q[quantity.SpecificConsumption] `json:"consumption"` // brake specific, at full load
	Lambda      Q[quantity.Lambda]              `json:"lambda,omitzero"`
	Injections  int                             `json:"injections,omitempty"` // per 720 degrees; 0 is 1
}

// RegulatorKind is how fuel pressure is controlled.
type RegulatorKind string

// Regulator kinds.
const (
	Referenced RegulatorKind = "referenced" // 1:1 to the manifold
	Vented     RegulatorKind = "vented"     // to the atmosphere, with a return
	Returnless RegulatorKind = "returnless" // fixed gauge pressure at the tank
)

// Values lists the words a RegulatorKind may be, for the schema.
func (RegulatorKind) Values() []string { return []string{"referenced", "vented", "returnless"} }

// RegulatorPlan is the regulator and the base pressure it is set to.
type RegulatorPlan struct {
	Kind RegulatorKind          `json:"kind"`
	Base Q[quantity.Difference] `json:"base"`
}

// InjectorPlan is the injectors that the plan chooses.
type InjectorPlan struct {
	Part  string `json:"part"` // part record
	Count int    `json:"count"`
}

// PumpPlan is the pumps that the plan chooses.
type PumpPlan struct {
	Part        string               `json:"part"` // part record
	Count       int                  `json:"count"`
	Arrangement string               `json:"arrangement,omitempty"` // single, parallel, series, staged
	Ageing      Q[quantity.Fraction] `json:"ageing,omitzero"`       // delivery left when aged; default 95 %
	Voltage     Q[quantity.Voltage]  `json:"voltage,omitzero"`      // at the terminals, when it is known
}

// LinePlan is a hose or tube from end to end.
type LinePlan struct {
	Size            string                 `json:"size,omitempty"` // dash size
	Bore            Q[quantity.Length]     `json:"bore,omitzero"`
	Length          Q[quantity.Length]     `json:"length"`
	Fittings        string                 `json:"fittings,omitempty"` // sum of minor loss coefficients, as written
	FilterDrop      Q[quantity.Difference] `json:"filter_drop,omitzero"`
	CheckValveDrop  Q[quantity.Difference] `json:"check_valve_drop,omitzero"`
	AtFlow          Q[quantity.Flow]       `json:"at_flow,omitzero"` // flow at which those drops hold
	Rise            Q[quantity.Length]     `json:"rise,omitzero"`    // height gained
	WorkingPressure Q[quantity.Gauge]      `json:"working_pressure,omitzero"`
}

// RailPlan is the rails.
type RailPlan struct {
	Count       int                `json:"count"`
	Arrangement string             `json:"arrangement,omitempty"` // single, series, parallel
	Bore        Q[quantity.Length] `json:"bore,omitzero"`
	Length      Q[quantity.Length] `json:"length,omitzero"`
}

// WiringPlan is the pump's supply.
type WiringPlan struct {
	Source      Q[quantity.Voltage]     `json:"source"` // at the alternator or battery, at full load
	Area        Q[quantity.Area]        `json:"area"`
	FeedLength  Q[quantity.Length]      `json:"feed_length"`
	GroundLen   Q[quantity.Length]      `json:"ground_length"`
	Contacts    Q[quantity.Resistance]  `json:"contacts"`
	Temperature Q[quantity.Temperature] `json:"temperature,omitzero"`
	Fuse        Q[quantity.Current]     `json:"fuse,omitzero"`
	Ampacity    Q[quantity.Current]     `json:"ampacity,omitzero"`
}

// TankPlan is the tank as the plan sees it.
type TankPlan struct {
	Length       Q[quantity.Length]       `json:"length,omitzero"`
	Height       Q[quantity.Length]       `json:"height,omitzero"`
	Reservoir    Q[quantity.Volume]       `json:"reservoir,omitzero"`
	ReturnInside Answer                   `json:"return_inside,omitempty"`
	Lateral      Q[quantity.Acceleration] `json:"lateral,omitzero"`
}

// FuelPlan is the fuel beyond its ethanol content.
type FuelPlan struct {
	RVP         Q[quantity.Absolute]    `json:"rvp,omitzero"` // Reid vapour pressure
	Temperature Q[quantity.Temperature] `json:"temperature,omitzero"`
	Density     Q[quantity.Density]     `json:"density,omitzero"` // at 15 degC, when known
}
