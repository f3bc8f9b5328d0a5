package schema

import (
	"fmt"
	"strconv"

	"feedproof/schema/quantity"
)

// PlanData holds the inputs of the calculation. Results are computed from them
// and from the parts that are really fitted, and never stored.
type PlanData struct {
	Envelope     Envelope                 `json:"envelope"`              // limits that the plan is for
	Basis        PowerBasis               `json:"basis"`                 // where the power is measured
	Loss         Q[quantity.Fraction]     `json:"loss,omitzero"`         // drive loss, when at the wheels
	Correction   Q[quantity.Fraction]     `json:"correction,omitzero"`   // power as printed over power as observed
	Engine       EnginePlan               `json:"engine"`                // what the engine asks for
	Fuel         *FuelPlan                `json:"fuel,omitempty"`        // fuel that the plan reckons with
	Regulator    *RegulatorPlan           `json:"regulator,omitempty"`   // regulator, of an injected engine
	Injectors    *InjectorPlan            `json:"injectors,omitempty"`   // injectors, of an injected engine
	Carburettor  *CarburettorPlan         `json:"carburettor,omitempty"` // carburettors, instead of injectors
	Pumps        PumpPlan                 `json:"pumps"`                 // pumps of the plan
	Feed         LinePlan                 `json:"feed"`                  // line from pump to rail
	Return       *LinePlan                `json:"return,omitempty"`      // line back to the tank; none: returnless
	Rails        *RailPlan                `json:"rails,omitempty"`       // rails of the plan
	Wiring       *WiringPlan              `json:"wiring,omitempty"`      // supply of the pumps
	Tank         *TankPlan                `json:"tank,omitempty"`        // tank, for slosh and reserve
	Suction      *SuctionPlan             `json:"suction,omitempty"`     // line to a pump outside the tank
	Surge        *SurgePlan               `json:"surge,omitempty"`       // surge tank and its lift pump
	Outlet       Q[quantity.Gauge]        `json:"outlet,omitzero"`       // pump outlet pressure as the lead rounds it up
	Acceleration Q[quantity.Acceleration] `json:"acceleration,omitzero"` // longest forward acceleration
	Map          string                   `json:"map,omitempty"`         // calibration that the car leaves with: hash or version
	Note         string                   `json:"note,omitempty"`        // in words
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
	Consumption Q[quantity.SpecificConsumption] `json:"consumption"`                  // fuel for the work at the crank, full load
	Measured    Q[quantity.Fraction]            `json:"consumption_ethanol,omitzero"` // ethanol of the fuel that the consumption is for; left out: the most of the envelope
	Lambda      Q[quantity.Lambda]              `json:"lambda,omitzero"`              // at full load
	Injections  int                             `json:"injections,omitempty"`         // injections per 720 degrees; left out: 1
	Displaced   Q[quantity.Volume]              `json:"displacement,omitzero"`        // displacement, for the second route, by air
	Filling     Q[quantity.Fraction]            `json:"filling,omitzero"`             // volumetric efficiency
	Charge      Q[quantity.Temperature]         `json:"charge,omitzero"`              // charge temperature in the manifold
	IdleFuel    Q[quantity.MassFlow]            `json:"idle_fuel,omitzero"`           // fuel burnt at idle
	IdleSpeed   Q[quantity.EngineSpeed]         `json:"idle_speed,omitzero"`          // engine speed at idle
	IdleIntake  Q[quantity.Absolute]            `json:"idle_manifold,omitzero"`       // manifold pressure at idle
}

// RegulatorKind is how fuel pressure is controlled.
type RegulatorKind string

// Regulator kinds.
const (
	Referenced RegulatorKind = "referenced" // to the manifold
	Vented     RegulatorKind = "vented"     // to the atmosphere, with a return
	Returnless RegulatorKind = "returnless" // fixed gauge pressure at the tank
)

// Values lists the words a RegulatorKind may be, for the schema.
func (RegulatorKind) Values() []string { return []string{"referenced", "vented", "returnless"} }

// RegulatorPlan is the regulator and the base pressure it is set to.
type RegulatorPlan struct {
	Kind   RegulatorKind          `json:"kind"`            // what it refers to
	Base   Q[quantity.Difference] `json:"base"`            // pressure over its reference, hose off
	Ratio  Q[quantity.Fraction]   `json:"ratio,omitzero"`  // rising rate; left out: 1
	Rating Q[quantity.Gauge]      `json:"rating,omitzero"` // highest pressure it can hold
}

// InjectorPlan is the injectors that the plan chooses.
type InjectorPlan struct {
	Part  string `json:"part" form:"id"` // part record
	Count int    `json:"count"`          // how many of them
}

// CarburettorPlan is the carburettors as one.
type CarburettorPlan struct {
	Pressure Q[quantity.Gauge]  `json:"pressure"` // fuel pressure at the float valves
	Seats    int                `json:"seats"`    // how many float valves
	Seat     Q[quantity.Length] `json:"seat"`     // bore of a float valve's seat
	Bowls    Q[quantity.Volume] `json:"bowls"`    // volume of all float bowls together
}

// PumpPlan is the pumps that the plan chooses.
type PumpPlan struct {
	Part        string               `json:"part" form:"id"`        // part record
	Count       int                  `json:"count"`                 // how many of them
	Arrangement Arrangement          `json:"arrangement,omitempty"` // how they stand to one another
	Ageing      Q[quantity.Fraction] `json:"ageing,omitzero"`       // share of new flow that is left; left out: 95 %
	Voltage     Q[quantity.Voltage]  `json:"voltage,omitzero"`      // voltage at the terminals, instead of the wiring
}

// Arrangement is how pumps or rails stand to one another.
type Arrangement string

// Values lists the words an Arrangement may be, for the schema.
func (Arrangement) Values() []string { return []string{"parallel", "series", "staged"} }

// LinePlan is a hose or tube from end to end.
type LinePlan struct {
	Size            string                 `json:"size,omitempty"`            // dash size, as printed
	Bore            Q[quantity.Length]     `json:"bore"`                      // smallest bore in the run
	Length          Q[quantity.Length]     `json:"length"`                    // from end to end
	Fittings        Number                 `json:"fittings,omitempty"`        // sum of minor-loss coefficients
	FilterDrop      Q[quantity.Difference] `json:"filter_drop,omitzero"`      // pressure lost in the filter
	CheckDrop       Q[quantity.Difference] `json:"check_valve_drop,omitzero"` // pressure lost in the check valve
	AtFlow          Q[quantity.Flow]       `json:"at_flow,omitzero"`          // flow at which those drops hold
	Rise            Q[quantity.Length]     `json:"rise,omitzero"`             // how much higher the far end lies
	Forward         Q[quantity.Length]     `json:"forward,omitzero"`          // how much further forward the far end lies
	WorkingPressure Q[quantity.Gauge]      `json:"working_pressure,omitzero"` // rating of the line
}

// Number is a plain number as written, such as a sum of coefficients: no
// floats stand in signed data.
type Number string

// Float is the number; zero when nothing was written.
func (n Number) Float() float64 {
	f, _ := strconv.ParseFloat(string(n), 64)
	return f
}

// UnmarshalText refuses what is not a plain number.
func (n *Number) UnmarshalText(b []byte) error {
	if err := quantity.Check(quantity.Written{Value: string(b), Unit: "ratio"}, quantity.Fraction(0).Dimension()); err != nil {
		return fmt.Errorf("%q is not a plain number", b)
	}
	*n = Number(b)
	return nil
}

// RailPlan is the rails.
type RailPlan struct {
	Count       int                `json:"count"`                 // how many rails
	Arrangement Arrangement        `json:"arrangement,omitempty"` // how they stand to one another
	Bore        Q[quantity.Length] `json:"bore"`                  // inner diameter of each
	Length      Q[quantity.Length] `json:"length"`                // length of each
	Link        *LinePlan          `json:"link,omitempty"`        // rail to rail, or to each rail
}

// WiringPlan is the supply of each pump.
type WiringPlan struct {
	Source      Q[quantity.Voltage]     `json:"source"`               // voltage at the alternator or battery, at full load
	Area        Q[quantity.Area]        `json:"area"`                 // cross-section of the conductor
	Feed        Q[quantity.Length]      `json:"feed"`                 // length of the feed wire
	Ground      Q[quantity.Length]      `json:"ground"`               // length of the ground wire
	Contacts    Q[quantity.Resistance]  `json:"contacts"`             // resistance of relay, fuse and connectors together
	Temperature Q[quantity.Temperature] `json:"temperature,omitzero"` // temperature of the wire
	Fuse        Q[quantity.Current]     `json:"fuse,omitzero"`        // rating of the fuse
	Ampacity    Q[quantity.Current]     `json:"ampacity,omitzero"`    // what the wire may carry in its bundle
}

// TankPlan is the tank as the plan sees it.
type TankPlan struct {
	Volume       Q[quantity.Volume]       `json:"volume,omitzero"`         // what it holds
	Unpumpable   Q[quantity.Volume]       `json:"unpumpable,omitzero"`     // what stays in it when the pick-up draws air
	Length       Q[quantity.Length]       `json:"length,omitzero"`         // length inside, along the acceleration asked about
	Height       Q[quantity.Length]       `json:"height,omitzero"`         // height inside
	Gasket       Q[quantity.Length]       `json:"gasket,omitzero"`         // pressed gasket and seat under the module's flange
	Gap          Q[quantity.Length]       `json:"gap,omitzero"`            // gap under the module's pick-up; 0 for a sprung foot
	PickUp       Q[quantity.Length]       `json:"pick_up,omitzero"`        // distance of the pick-up from the wall the fuel runs to
	Cornering    Q[quantity.Acceleration] `json:"cornering,omitzero"`      // sideways acceleration asked about
	Reservoir    Q[quantity.Volume]       `json:"reservoir,omitzero"`      // what the swirl pot round the pick-up holds
	ReturnInside Answer                   `json:"return_inside,omitempty"` // the return runs into that reservoir
}

// SuctionPlan is the line to an external pump.
type SuctionPlan struct {
	Line       LinePlan               `json:"line"`                 // hose or tube from tank to pump
	Level      Q[quantity.Length]     `json:"level"`                // height of the fuel above the pump, at the lowest
	OverVented Q[quantity.Difference] `json:"over_vented,omitzero"` // tank pressure over the air outside
}

// SurgePlan is a surge tank with its lift pump.
type SurgePlan struct {
	Volume   Q[quantity.Volume]     `json:"volume"`                // what the surge tank holds
	Lift     string                 `json:"lift" form:"id"`        // part record of the lift pump
	Pressure Q[quantity.Difference] `json:"pressure"`              // against which the lift pump works
	Voltage  Q[quantity.Voltage]    `json:"voltage"`               // at the lift pump
	Dry      Q[quantity.Duration]   `json:"dry"`                   // longest the lift pump draws air
	Return   Destination            `json:"return_ends,omitempty"` // where the main pump's return line ends
}

// Destination is where a return line ends.
type Destination string

// Destinations.
const (
	IntoSurge Destination = "surge tank"
	IntoTank  Destination = "tank"
)

// Values lists the words a Destination may be, for the schema.
func (Destination) Values() []string { return []string{"surge tank", "tank"} }

// FuelPlan is the fuel beyond its ethanol content.
type FuelPlan struct {
	RVP         Q[quantity.Absolute]    `json:"rvp,omitzero"`            // Reid vapour pressure
	Temperature Q[quantity.Temperature] `json:"temperature,omitzero"`    // highest fuel temperature of the envelope
	Mapped      Q[quantity.Fraction]    `json:"mapped_ethanol,omitzero"` // ethanol of a fixed tune; left out: the map follows a sensor
}
