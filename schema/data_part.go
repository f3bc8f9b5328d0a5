package schema

import "feedproof/schema/quantity"

// PartData describes a part or a lot of equal parts, as its papers and its
// marking say. Ratings carry the conditions they hold at.
type PartData struct {
	Part     PartKind      `json:"part"`
	Name     string        `json:"name"`
	Mark     string        `json:"mark,omitempty"` // as printed on the part
	Lot      string        `json:"lot,omitempty"`
	Serial   string        `json:"serial,omitempty"`
	Ethanol  Answer        `json:"ethanol,omitempty"` // stated fit for ethanol
	Papers   string        `json:"papers,omitempty"`  // the document that says so
	Pump     *PumpData     `json:"pump,omitempty"`
	Injector *InjectorData `json:"injector,omitempty"`
	Hose     *HoseData     `json:"hose,omitempty"`
	Filter   *FilterData   `json:"filter,omitempty"`
}

// EntryKind names the kind.
func (PartData) EntryKind() string { return "part" }

// PartKind is what a part does.
type PartKind string

// Kinds of part.
const (
	PartPump      PartKind = "pump"
	PartInjector  PartKind = "injector"
	PartRegulator PartKind = "regulator"
	PartRail      PartKind = "rail"
	PartHose      PartKind = "hose"
	PartFilter    PartKind = "filter"
)

// Values lists the words a PartKind may be, for the schema.
func (PartKind) Values() []string {
	return []string{"pump", "injector", "regulator", "rail", "hose", "filter", "fitting", "seal", "module", "tank", "wire", "relay", "fuse", "sensor", "other"}
}

// PumpData is what a pump's papers claim. The curve needs at least two
// pressures at each of its voltages.
type PumpData struct {
	Curve      []PumpPoint            `json:"curve"`
	Source     CurveSource            `json:"source"`
	Relief     Q[quantity.Difference] `json:"relief,omitzero"`       // internal relief valve
	CheckValve Answer                 `json:"check_valve,omitempty"` //
	Class      PumpClass              `json:"class,omitempty"`       // injection, lift, carburettor
	Fluid      string                 `json:"fluid,omitempty"`       // test fluid
}

// PumpPoint is one point of a pump's curve.
type PumpPoint struct {
	Pressure Q[quantity.Difference] `json:"pressure"` // rise across the pump
	Voltage  Q[quantity.Voltage]    `json:"voltage"`  // at its terminals
	Flow     Q[quantity.Flow]       `json:"flow"`
	Current  Q[quantity.Current]    `json:"current,omitzero"`
}

// CurveSource is where a curve comes from.
type CurveSource string

// Values lists the words a CurveSource may be, for the schema.
func (CurveSource) Values() []string { return []string{"maker sheet", "bench", "unknown"} }

// PumpClass is the pressure class of a pump.
type PumpClass string

// Values lists the words a PumpClass may be, for the schema.
func (PumpClass) Values() []string { return []string{"injection", "lift", "carburettor"} }

// InjectorData is what an injector's flow sheet says, with its conditions.
type InjectorData struct {
	StaticFlow   Q[quantity.Flow]       `json:"static_flow,omitzero"`
	StaticMass   Q[quantity.MassFlow]   `json:"static_mass,omitzero"`
	Pressure     Q[quantity.Difference] `json:"pressure"` // across it, at the rating
	Fluid        string                 `json:"fluid"`    // test fluid, or "unknown"
	FluidDensity Q[quantity.Density]    `json:"fluid_density,omitzero"`
	DeadTime     []DeadTime             `json:"dead_time,omitempty"`
	Spread       Q[quantity.Fraction]   `json:"spread,omitzero"`       // static spread of the set
	MaxPressure  Q[quantity.Difference] `json:"max_pressure,omitzero"` // above it does not open reliably
}

// DeadTime is the offset of an injector at a voltage.
type DeadTime struct {
	Voltage Q[quantity.Voltage]  `json:"voltage"`
	Time    Q[quantity.Duration] `json:"time"`
}

// HoseData is what a hose's marking and papers say.
type HoseData struct {
	Size            string             `json:"size,omitempty"` // dash size
	Bore            Q[quantity.Length] `json:"bore,omitzero"`
	WorkingPressure Q[quantity.Gauge]  `json:"working_pressure,omitzero"`
	Submersible     Answer             `json:"submersible,omitempty"`
	DateCode        string             `json:"date_code,omitempty"`
	Standard        string             `json:"standard,omitempty"`
}

// FilterData is what a filter's papers say.
type FilterData struct {
	Fineness Q[quantity.Length]     `json:"fineness,omitzero"`
	Media    string                 `json:"media,omitempty"`
	Drop     Q[quantity.Difference] `json:"drop,omitzero"`    // pressure drop, clean
	AtFlow   Q[quantity.Flow]       `json:"at_flow,omitzero"` // at this flow
}

// ReceiptData records a delivery before the box is thrown away.
type ReceiptData struct {
	Date     string `json:"date" form:"date"`
	Quantity int    `json:"quantity"`
	Supplier string `json:"supplier,omitempty"`
	Invoice  string `json:"invoice,omitempty"`
	State    string `json:"state,omitempty"` // new, used, customer's
}

// EntryKind names the kind.
func (ReceiptData) EntryKind() string { return "receipt" }

// QuarantineData keeps a lot off cars, or lets it go again.
type QuarantineData struct {
	Action QuarantineAction `json:"action"`
	Why    string           `json:"why"`
}

// EntryKind names the kind.
func (QuarantineData) EntryKind() string { return "quarantine" }

// QuarantineAction is what happens to a lot.
type QuarantineAction string

// Values lists the words a QuarantineAction may be, for the schema.
func (QuarantineAction) Values() []string { return []string{"hold", "release"} }
