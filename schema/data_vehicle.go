package schema

import "feedproof/schema/quantity"

// VehicleData identifies a car and says what it is.
type VehicleData struct {
	Name               string             `json:"name"`            // what the shop calls it
	Plate              string             `json:"plate,omitempty"` //
	VIN                string             `json:"vin,omitempty"`   // or chassis number
	Description        string             `json:"description"`     // colour and body, in words
	ModelYear          int                `json:"model_year,omitempty"`
	Engine             string             `json:"engine,omitempty"`
	Cylinders          int                `json:"cylinders,omitempty"`
	Displacement       Q[quantity.Volume] `json:"displacement,omitzero"`
	Induction          Induction          `json:"induction,omitempty"`
	FuelSystem         FuelSystem         `json:"fuel_system,omitempty"`
	RoadUse            Answer             `json:"road_use"`
	EmissionControlled Answer             `json:"emission_controlled"`
	TankEverFuelled    Answer             `json:"tank_ever_fuelled"`
	TankVolume         Q[quantity.Volume] `json:"tank_volume,omitzero"`
	Tank               string             `json:"tank,omitempty"` // its tag or serial, as a cleaning certificate must name it
	HighVoltage        Answer             `json:"high_voltage,omitempty"`
	Owner              string             `json:"owner,omitempty"` // a reference; names are kept apart
}

// EntryKind names the kind.
func (VehicleData) EntryKind() string { return "vehicle" }

// Induction is how an engine breathes.
type Induction string

// Values lists the words an Induction may be, for the schema.
func (Induction) Values() []string { return []string{"natural", "turbo", "supercharger"} }

// FuelSystem is how fuel reaches the engine.
type FuelSystem string

// Values lists the words a FuelSystem may be, for the schema.
func (FuelSystem) Values() []string {
	return []string{"port injection", "throttle-body injection", "carburettor", "direct injection low side"}
}

// VisitData opens or closes a stay of the car in the shop.
type VisitData struct {
	Action   VisitAction        `json:"action"`
	Visit    string             `json:"visit"` // number of the visit
	Kinds    []JobKind          `json:"kinds,omitempty"`
	Reason   string             `json:"reason,omitempty"`
	Odometer Q[quantity.Length] `json:"odometer,omitzero"`
	Bay      string             `json:"bay,omitempty"`
	Declared *Declared          `json:"declared,omitempty"` // what the customer says the car runs now
	Words    string             `json:"words,omitempty"`    // customer's words
}

// EntryKind names the kind.
func (VisitData) EntryKind() string { return "visit" }

// VisitAction opens or closes.
type VisitAction string

// Visit actions.
const (
	OpenVisit  VisitAction = "open"
	CloseVisit VisitAction = "close"
)

// Values lists the words a VisitAction may be, for the schema.
func (VisitAction) Values() []string { return []string{"open", "close"} }

// JobKind is one of the nine kinds of job, a to i.
type JobKind string

// Values lists the words a JobKind may be, for the schema.
func (JobKind) Values() []string { return []string{"a", "b", "c", "d", "e", "f", "g", "h", "i"} }

// Declared is what the customer says the car runs.
type Declared struct {
	Power    Q[quantity.Power]    `json:"power,omitzero"`
	Boost    Q[quantity.Gauge]    `json:"boost,omitzero"`
	Manifold Q[quantity.Absolute] `json:"manifold,omitzero"`
	Ethanol  Q[quantity.Fraction] `json:"ethanol,omitzero"`
}

// FitData records a component going in.
type FitData struct {
	Position string   `json:"position"`                 // pump, pump 2, injectors, rail, regulator, feed line, ...
	Part     string   `json:"part,omitempty" form:"id"` // part record, or why there is none
	WhyNone  string   `json:"why_none,omitempty"`       // "untraceable", "customer's", "kept from the car"
	Count    int      `json:"count,omitempty"`
	Serials  []string `json:"serials,omitempty"`
	Opens    Answer   `json:"opens,omitempty"` // fitting it opened a fuel joint
	Note     string   `json:"note,omitempty"`
}

// EntryKind names the kind.
func (FitData) EntryKind() string { return "fit" }

// RemoveData records a component coming out.
type RemoveData struct {
	Position  string `json:"position"`
	Part      string `json:"part,omitempty" form:"id"`
	Why       string `json:"why"`
	Condition string `json:"condition,omitempty"`
}

// EntryKind names the kind.
func (RemoveData) EntryKind() string { return "remove" }

// StepData records a step of a procedure.
type StepData struct {
	Step   string             `json:"step"`
	State  StepState          `json:"state"`
	Why    string             `json:"why,omitempty"`            // when not applicable
	Joint  string             `json:"joint,omitempty"`          // the joint a step opened or closed
	Count  Number             `json:"count,omitempty"`          // of plugs, where a step counts them
	Torque Q[quantity.Torque] `json:"torque,omitzero"`          //
	Tool   string             `json:"tool,omitempty" form:"id"` // gauge record of the tool
	Second string             `json:"second,omitempty"`         // second person
	Note   string             `json:"note,omitempty"`
}

// EntryKind names the kind.
func (StepData) EntryKind() string { return "step" }

// StepState is how far a step is. Started and not finished is a state of its own.
type StepState string

// Step states.
const (
	StepStarted StepState = "started"
	StepDone    StepState = "done"
	StepNA      StepState = "not applicable"
)

// Values lists the words a StepState may be, for the schema.
func (StepState) Values() []string { return []string{"started", "done", "not applicable"} }

// ReadingData is one test occasion: every value read in it, each with its
// gauge, and the conditions that travel with it.
type ReadingData struct {
	Test       string      `json:"test"` // a test of tests.go
	Values     []Value     `json:"values"`
	Conditions *Conditions `json:"conditions,omitempty"`
	Attempt    int         `json:"attempt,omitempty"`
	Second     string      `json:"second,omitempty"` // second person who saw it
	Late       string      `json:"late,omitempty"`   // "from memory", "from paper sheet 12"
	Note       string      `json:"note,omitempty"`
}

// EntryKind names the kind.
func (ReadingData) EntryKind() string { return "reading" }

// Value is one value of a reading: a quantity as written, or what was seen.
type Value struct {
	Name  string           `json:"name"`                          // which value of the test
	Value string           `json:"value,omitempty" form:"number"` // number as written
	Unit  string           `json:"unit,omitempty" form:"unit"`    //
	Seen  string           `json:"seen,omitempty"`                // dry, damp, wet, smell, ...
	State string           `json:"state,omitempty" form:"state"`  // unknown, not measured, not applicable
	Why   string           `json:"why,omitempty"`                 //
	Port  string           `json:"port,omitempty"`                // where
	Gauge *GaugeSnapshot   `json:"gauge,omitempty"`               // the instrument as it was at that moment
	Zero  quantity.Written `json:"zero,omitzero"`                 // its reading before, vented
}

// Written is the value as it was written.
func (v Value) Written() quantity.Written { return quantity.Written{Value: v.Value, Unit: v.Unit} }

// GaugeSnapshot is an instrument's state copied at the moment of a reading, so
// that an audit needs no look-up.
type GaugeSnapshot struct {
	Gauge      string           `json:"gauge" form:"id"`
	Class      string           `json:"class,omitempty" form:"number"` // % of span
	Span       quantity.Written `json:"span,omitzero"`
	Accuracy   quantity.Written `json:"accuracy,omitzero"`
	Resolution quantity.Written `json:"resolution,omitzero"`
	Due        string           `json:"due,omitempty" form:"date"`      // calibration due date
	Bumped     string           `json:"bumped,omitempty" form:"time"`   // time of the last good bump test
	Factor     string           `json:"factor,omitempty" form:"number"` // gas factor
	Sensor     string           `json:"sensor,omitempty"`               // gas meters
}

// Conditions travel with every reading.
type Conditions struct {
	Hose      string                  `json:"hose,omitempty"`   // regulator reference: on, off
	Engine    string                  `json:"engine,omitempty"` // off, idle, load
	Speed     Q[quantity.EngineSpeed] `json:"speed,omitzero"`
	FuelLevel Q[quantity.Volume]      `json:"fuel_level,omitzero"`
	Ethanol   Q[quantity.Fraction]    `json:"ethanol,omitzero"`
	FuelTemp  Q[quantity.Temperature] `json:"fuel_temperature,omitzero"`
	AirTemp   Q[quantity.Temperature] `json:"air_temperature,omitzero"`
	Barometer Q[quantity.Absolute]    `json:"barometer,omitzero"`
	Charger   Answer                  `json:"charger,omitempty"` // battery charger connected
}

// CautionData answers a caution.
type CautionData struct {
	Caution     string       `json:"caution"`
	State       CautionState `json:"state"`
	Proof       string       `json:"proof,omitempty"` // what shows it
	Why         string       `json:"why,omitempty"`   // when not applicable
	Evidence    []string     `json:"evidence,omitempty" form:"id"`
	Readings    []string     `json:"readings,omitempty" form:"id"`
	Persons     []string     `json:"persons,omitempty"`
	Where       string       `json:"where,omitempty"`                 // the joint, for a leak
	Inspected   string       `json:"inspected,omitempty" form:"date"` // last inspection of the extinguishers
	Certificate *Certificate `json:"certificate,omitempty"`           // of a tank that was cleaned
}

// EntryKind names the kind.
func (CautionData) EntryKind() string { return "caution" }

// Certificate is what the cleaner of a used tank says. A field that it leaves
// open stays open.
type Certificate struct {
	By     string `json:"by"`                       // who cleaned it
	Method string `json:"method,omitempty"`         // how
	Tank   string `json:"tank,omitempty"`           // tag or serial of the tank
	At     string `json:"at,omitempty" form:"time"` // when
}

// CautionState is how a caution stands.
type CautionState string

// Caution states.
const (
	CautionMet  CautionState = "met"
	CautionSeen CautionState = "seen" // the hazard itself was seen: a leak, a spill
	CautionNA   CautionState = "not applicable"
)

// Values lists the words a CautionState may be, for the schema.
func (CautionState) Values() []string { return []string{"met", "seen", "not applicable"} }

// DatalogData is a logged run kept by hash and judged by what is computed.
type DatalogData struct {
	File     string       `json:"file"`
	SHA256   string       `json:"sha256" form:"sha256"`
	Bytes    int64        `json:"bytes"`
	Run      string       `json:"run"` // idle, pull, road
	Mapping  []ChannelMap `json:"mapping"`
	Gates    []NamedValue `json:"gates,omitempty"`
	Worst    []NamedValue `json:"worst,omitempty"`
	Verdicts []Verdict    `json:"verdicts,omitempty"`
	Map      string       `json:"map,omitempty"` // calibration hash or version
	Note     string       `json:"note,omitempty"`
}

// EntryKind names the kind.
func (DatalogData) EntryKind() string { return "datalog" }

// ChannelMap says which column is which channel.
type ChannelMap struct {
	Column  string `json:"column"`
	Channel string `json:"channel"`
	Unit    string `json:"unit" form:"blank"`
	Sensor  string `json:"sensor,omitempty"` // gauge, absolute, sealed
	Events  int    `json:"events,omitempty"` // injections per 720 degrees
}

// NamedValue is a computed value with the time in the log at which it stood.
type NamedValue struct {
	Name  string `json:"name"`
	Value string `json:"value"`
	Unit  string `json:"unit" form:"blank"`
	At    string `json:"at,omitempty"` // seconds into the log
}

// Verdict is what a signature or a proof check said of a log.
type Verdict struct {
	ID    string `json:"id"`
	State string `json:"state"`
	Text  string `json:"text"`
}

// EvidenceData is a photo or file kept by hash.
type EvidenceData struct {
	SHA256   string   `json:"sha256" form:"sha256"`
	Bytes    int64    `json:"bytes"`
	Type     string   `json:"type"` // media type
	What     string   `json:"what"`
	Original string   `json:"original,omitempty" form:"sha256"` // SHA-256 of the file as it came
	Step     string   `json:"step,omitempty"`
	Entries  []string `json:"entries,omitempty" form:"id"`
}

// EntryKind names the kind.
func (EvidenceData) EntryKind() string { return "evidence" }

// HoldPointData closes or re-opens a hold point.
type HoldPointData struct {
	Point  string      `json:"point"`
	Action PointAction `json:"action"`
	Second string      `json:"second,omitempty"`
	Rests  []string    `json:"rests,omitempty" form:"id"` // entries it rests on
	Late   string      `json:"late,omitempty"`
	Why    string      `json:"why,omitempty"`
}

// EntryKind names the kind.
func (HoldPointData) EntryKind() string { return "holdpoint" }

// PointAction closes or re-opens.
type PointAction string

// Hold point actions.
const (
	ClosePoint  PointAction = "close"
	ReopenPoint PointAction = "reopen"
)

// Values lists the words a PointAction may be, for the schema.
func (PointAction) Values() []string { return []string{"close", "reopen"} }

// AcknowledgeData answers a FLAG: who saw it and why it may stand.
type AcknowledgeData struct {
	Finding  string `json:"finding"`               // key of the finding
	Measured string `json:"measured" form:"blank"` // as it was then: a change lapses the answer
	Why      string `json:"why"`
}

// EntryKind names the kind.
func (AcknowledgeData) EntryKind() string { return "acknowledge" }

// WaiveData is a lead's bounded answer to a HOLD.
type WaiveData struct {
	Finding  string `json:"finding"`
	Measured string `json:"measured" form:"blank"` // value at that moment: a change lapses the waiver
	Limit    string `json:"limit" form:"blank"`
	Why      string `json:"why"`
	Measure  string `json:"measure"`             // compensating measure
	Expires  string `json:"expires" form:"date"` // RFC 3339 full-date
	Informed Answer `json:"informed"`            // the customer knows
}

// EntryKind names the kind.
func (WaiveData) EntryKind() string { return "waive" }

// HoldData says that a commit kept the facts with the car held.
type HoldData struct {
	Findings []Finding `json:"findings"` // as shown on the day
	RuleSet  string    `json:"rule_set"`
	Why      string    `json:"why,omitempty"`
}

// EntryKind names the kind.
func (HoldData) EntryKind() string { return "hold" }

// IncidentData records something that went wrong.
type IncidentData struct {
	What     string `json:"what"`
	Severity string `json:"severity"`
	Injury   Answer `json:"injury"`
	Action   string `json:"action,omitempty"`
}

// EntryKind names the kind.
func (IncidentData) EntryKind() string { return "incident" }
