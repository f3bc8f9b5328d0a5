package schema

import "feedproof/schema/quantity"

// PartData describes a part or a lot of equal parts, as its papers and its
// marking say. Ratings carry the conditions they hold at.
type PartData struct {
	Part     PartKind      `json:"part"`               // what the part does
	Name     string        `json:"name"`               // maker's or shop's name of it
	Mark     string        `json:"mark,omitempty"`     // as printed on the part
	Lot      string        `json:"lot,omitempty"`      // lot or batch code on the package
	Serial   string        `json:"serial,omitempty"`   // serial number of a single part
	Ethanol  Answer        `json:"ethanol,omitempty"`  // stated fit for ethanol
	Papers   string        `json:"papers,omitempty"`   // the document that says so
	Pump     *PumpData     `json:"pump,omitempty"`     // papers of a pump
	Injector *InjectorData `json:"injector,omitempty"` // papers of an injector
	Hose     *HoseData     `json:"hose,omitempty"`     // papers of a hose
	Filter   *FilterData   `json:"filter,omitempty"`   // papers of a filter
	Ends     []PartEnd     `json:"ends,omitempty"`     // its ends, each by a name
	Seal     string        `json:"seal,omitempty"`     // compound of its seals, letters of ASTM D1418: FKM, NBR
	Stud     *StudData     `json:"stud,omitempty"`     // what its electrical studs carry
}

// PartEnd is an end of a part: what it is, and the smallest bore behind it.
type PartEnd struct {
	Name string             `json:"name"`          // what the shop calls it on this part: in, out, a
	End  string             `json:"end"`           // family-gender:size, flare37-m:-8
	Bore Q[quantity.Length] `json:"bore,omitzero"` // smallest bore behind it
}

// StudData is what a part's bulkhead studs carry.
type StudData struct {
	Rating Q[quantity.Current] `json:"rating,omitzero"` // current of one, as its maker says
	Metal  string              `json:"metal,omitempty"` // copper, brass, steel, stainless
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
	Curve      []PumpPoint            `json:"curve"`                 // flow at pressure and voltage
	Source     CurveSource            `json:"source"`                // where the curve comes from
	Relief     Q[quantity.Difference] `json:"relief,omitzero"`       // pressure at which the internal relief valve opens
	CheckValve Answer                 `json:"check_valve,omitempty"` // it holds pressure when it stops
	Class      PumpClass              `json:"class,omitempty"`       // pressure class
	Fluid      string                 `json:"fluid,omitempty"`       // test fluid
}

// PumpPoint is one point of a pump's curve.
type PumpPoint struct {
	Pressure Q[quantity.Difference] `json:"pressure"`         // pressure rise across the pump
	Voltage  Q[quantity.Voltage]    `json:"voltage"`          // voltage at its terminals
	Flow     Q[quantity.Flow]       `json:"flow"`             // volume delivered at that pressure and voltage
	Current  Q[quantity.Current]    `json:"current,omitzero"` // current drawn
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
	StaticFlow   Q[quantity.Flow]       `json:"static_flow,omitzero"`   // flow of one, held open, by volume
	StaticMass   Q[quantity.MassFlow]   `json:"static_mass,omitzero"`   // flow of one, held open, by mass
	Pressure     Q[quantity.Difference] `json:"pressure"`               // pressure across it at which the flow holds
	Fluid        string                 `json:"fluid"`                  // test fluid, or "unknown"
	FluidDensity Q[quantity.Density]    `json:"fluid_density,omitzero"` // density of the test fluid
	DeadTime     []DeadTime             `json:"dead_time,omitempty"`    // time after the signal before it opens
	Spread       Q[quantity.Fraction]   `json:"spread,omitzero"`        // static spread of the set
	MaxPressure  Q[quantity.Difference] `json:"max_pressure,omitzero"`  // above it does not open reliably
}

// DeadTime is the offset of an injector at a voltage.
type DeadTime struct {
	Voltage Q[quantity.Voltage]  `json:"voltage"` // voltage at its terminals
	Time    Q[quantity.Duration] `json:"time"`    // from signal to flow at that voltage
}

// HoseData is what a hose's marking and papers say.
type HoseData struct {
	Size            string             `json:"size,omitempty"`            // dash size
	Bore            Q[quantity.Length] `json:"bore,omitzero"`             // inner diameter
	WorkingPressure Q[quantity.Gauge]  `json:"working_pressure,omitzero"` // highest it is rated for in use
	Submersible     Answer             `json:"submersible,omitempty"`     // stated fit for lying in fuel
	DateCode        string             `json:"date_code,omitempty"`       // date of making, as printed on the cover
	Standard        string             `json:"standard,omitempty"`        // hose standard printed on the cover
	Kind            string             `json:"kind,omitempty"`            // kind of hose by the table of hoses: J30R9, PTFE-C
}

// FilterData is what a filter's papers say.
type FilterData struct {
	Fineness Q[quantity.Length]     `json:"fineness,omitzero"` // smallest particle it holds back
	Media    string                 `json:"media,omitempty"`   // what filters: paper, steel mesh
	Drop     Q[quantity.Difference] `json:"drop,omitzero"`     // pressure drop, clean
	AtFlow   Q[quantity.Flow]       `json:"at_flow,omitzero"`  // flow at which it drops that
	Stands   FilterPlace            `json:"stands,omitempty"`  // where it may stand
}

// FilterPlace is where a filter may stand, by its papers.
type FilterPlace string

// Places of a filter.
const (
	BeforePump FilterPlace = "before the pump"
	AfterPump  FilterPlace = "after the pump"
)

// Values lists the words a FilterPlace may be, for the schema.
func (FilterPlace) Values() []string { return []string{"before the pump", "after the pump"} }

// ReceiptData records a delivery before the box is thrown away.
type ReceiptData struct {
	Date     string `json:"date" form:"date"`   // day it arrived, RFC 3339 full-date
	Quantity int    `json:"quantity"`           // how many pieces came
	Supplier string `json:"supplier,omitempty"` // who sold it
	Invoice  string `json:"invoice,omitempty"`  // number of the invoice
	State    string `json:"state,omitempty"`    // new, used, customer's
}

// EntryKind names the kind.
func (ReceiptData) EntryKind() string { return "receipt" }

// QuarantineData keeps a lot off cars, or lets it go again, or says that the
// owner of a car that carries it was told.
type QuarantineData struct {
	Action QuarantineAction `json:"action"`                  // kept off cars, free again, or an owner was told
	Why    string           `json:"why"`                     // reason, in words; of told, what was said
	Car    string           `json:"car,omitempty" form:"id"` // of told: the car whose owner it was
}

// EntryKind names the kind.
func (QuarantineData) EntryKind() string { return "quarantine" }

// QuarantineAction is what happens to a lot.
type QuarantineAction string

// Quarantine actions.
const (
	HoldLot    QuarantineAction = "hold"
	ReleaseLot QuarantineAction = "release"
	ToldOwner  QuarantineAction = "told"
)

// Values lists the words a QuarantineAction may be, for the schema.
func (QuarantineAction) Values() []string { return []string{"hold", "release", "told"} }
