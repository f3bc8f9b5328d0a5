package schema

import (
	"feedproof/schema/code"
	"feedproof/schema/quantity"
)

// VehicleData identifies a car and says what it is.
type VehicleData struct {
	Name               string             `json:"name"`                   // what the shop calls it
	Plate              string             `json:"plate,omitempty"`        // number plate
	VIN                string             `json:"vin,omitempty"`          // VIN or chassis number
	Description        string             `json:"description"`            // colour and body, in words
	ModelYear          int                `json:"model_year,omitempty"`   // as the papers say
	Engine             string             `json:"engine,omitempty"`       // the engine that is in it, in words
	Cylinders          int                `json:"cylinders,omitempty"`    // how many
	Displacement       Q[quantity.Volume] `json:"displacement,omitzero"`  // displacement of the whole engine
	Induction          Induction          `json:"induction,omitempty"`    // how the engine breathes
	FuelSystem         FuelSystem         `json:"fuel_system,omitempty"`  // how fuel reaches the engine
	RoadUse            Answer             `json:"road_use"`               // it is driven on public roads
	EmissionControlled Answer             `json:"emission_controlled"`    // emission rules hold for it
	TankEverFuelled    Answer             `json:"tank_ever_fuelled"`      // its tank has held fuel, so that it may hold vapour
	TankVolume         Q[quantity.Volume] `json:"tank_volume,omitzero"`   // what the tank holds
	Tank               string             `json:"tank,omitempty"`         // its tag or serial, as a cleaning certificate must name it
	HighVoltage        Answer             `json:"high_voltage,omitempty"` // it has a high-voltage system
	Owner              string             `json:"owner,omitempty"`        // a reference; names are kept apart
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
	Action   VisitAction        `json:"action"`             // the car came or went
	Visit    string             `json:"visit"`              // number of the visit
	Kinds    []JobKind          `json:"kinds,omitempty"`    // kinds of job, a to i: feedproof explain a
	Reason   string             `json:"reason,omitempty"`   // why it came, or how it left
	Odometer Q[quantity.Length] `json:"odometer,omitzero"`  // odometer when it came or left
	Bay      string             `json:"bay,omitempty"`      // where it stands
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
	Power    Q[quantity.Power]    `json:"power,omitzero"`    // engine power
	Boost    Q[quantity.Gauge]    `json:"boost,omitzero"`    // manifold pressure over the air outside
	Manifold Q[quantity.Absolute] `json:"manifold,omitzero"` // manifold pressure, absolute
	Ethanol  Q[quantity.Fraction] `json:"ethanol,omitzero"`  // ethanol in the fuel, by volume
}

// FitData records a component going in.
type FitData struct {
	Position string   `json:"position"`                 // pump, pump 2, injectors, rail, regulator, feed line, ...
	Part     string   `json:"part,omitempty" form:"id"` // part record, or why there is none
	WhyNone  string   `json:"why_none,omitempty"`       // "untraceable", "customer's", "kept from the car"
	Count    int      `json:"count,omitempty"`          // how many of the part went in
	Serials  []string `json:"serials,omitempty"`        // serial numbers of the pieces
	Opens    Answer   `json:"opens,omitempty"`          // fitting it opened a fuel joint
	Joins    []Join   `json:"joins,omitempty"`          // what its ends join
	Note     string   `json:"note,omitempty"`           // in words
}

// EntryKind names the kind.
func (FitData) EntryKind() string { return "fit" }

// Join is an end of a part on an end of another part, or plugged.
type Join struct {
	End      string `json:"end"`                // name of the end of this part
	Position string `json:"position,omitempty"` // where the other part is; none: the end is plugged
	Of       string `json:"of,omitempty"`       // name of the other part's end
	With     string `json:"with,omitempty"`     // clamp, washers or paste, in words
}

// RemoveData records a component coming out.
type RemoveData struct {
	Position  string `json:"position"`                 // where it was
	Part      string `json:"part,omitempty" form:"id"` // part record of what came out
	Why       string `json:"why"`                      // reason, in words
	Condition string `json:"condition,omitempty"`      // how it looked when it came out
}

// EntryKind names the kind.
func (RemoveData) EntryKind() string { return "remove" }

// StepData records a step of a procedure.
type StepData struct {
	Step   string             `json:"step"`                     // id of the step: feedproof explain b4
	State  StepState          `json:"state"`                    // how far it is
	Why    string             `json:"why,omitempty"`            // why it does not apply
	Joint  string             `json:"joint,omitempty"`          // the joint a step opened or closed
	Count  Number             `json:"count,omitempty"`          // number of plugs, where a step counts them
	Torque Q[quantity.Torque] `json:"torque,omitzero"`          // torque it was tightened to
	Tool   string             `json:"tool,omitempty" form:"id"` // gauge record of the tool
	Second string             `json:"second,omitempty"`         // second person
	Note   string             `json:"note,omitempty"`           // in words
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
	Test       string      `json:"test"`                 // a test of readings.go
	Values     []Value     `json:"values"`               // every value that was read
	Conditions *Conditions `json:"conditions,omitempty"` // what the car did meanwhile
	Attempt    int         `json:"attempt,omitempty"`    // number of the try, from 1
	Second     string      `json:"second,omitempty"`     // second person who saw it
	Late       string      `json:"late,omitempty"`       // "from memory", "from paper sheet 12"
	Note       string      `json:"note,omitempty"`       // in words
}

// EntryKind names the kind.
func (ReadingData) EntryKind() string { return "reading" }

// Value is one value of a reading: a quantity as written, or what was seen.
type Value struct {
	Name  string           `json:"name"`                          // which value of the test
	Value string           `json:"value,omitempty" form:"number"` // number as written
	Unit  string           `json:"unit,omitempty" form:"unit"`    // unit as it was written
	Seen  string           `json:"seen,omitempty"`                // dry, damp, wet, smell, ...
	State string           `json:"state,omitempty" form:"state"`  // unknown, not measured, not applicable
	Why   string           `json:"why,omitempty"`                 // reason why there is no value
	Port  string           `json:"port,omitempty"`                // where it was read
	Gauge *GaugeSnapshot   `json:"gauge,omitempty"`               // the instrument as it was at that moment
	Zero  quantity.Written `json:"zero,omitzero"`                 // its reading before, vented
}

// Written is the value as it was written.
func (v Value) Written() quantity.Written { return quantity.Written{Value: v.Value, Unit: v.Unit} }

// GaugeSnapshot is an instrument's state copied at the moment of a reading, so
// that an audit needs no look-up.
type GaugeSnapshot struct {
	Gauge      string           `json:"gauge" form:"id"`                // id of the instrument
	Class      string           `json:"class,omitempty" form:"number"`  // accuracy class: % of span
	Span       quantity.Written `json:"span,omitzero"`                  // highest less lowest value of its scale
	Accuracy   quantity.Written `json:"accuracy,omitzero"`              // half-width that its papers state, in its own unit
	Resolution quantity.Written `json:"resolution,omitzero"`            // smallest division
	Due        string           `json:"due,omitempty" form:"date"`      // calibration due date
	Bumped     string           `json:"bumped,omitempty" form:"time"`   // time of the last good bump test
	Factor     string           `json:"factor,omitempty" form:"number"` // gas factor
	Sensor     string           `json:"sensor,omitempty"`               // principle of a gas meter
}

// Conditions travel with every reading.
type Conditions struct {
	Hose      string                  `json:"hose,omitempty"`            // regulator reference: on, off
	Engine    string                  `json:"engine,omitempty"`          // off, idle, load
	Speed     Q[quantity.EngineSpeed] `json:"speed,omitzero"`            // engine speed
	FuelLevel Q[quantity.Volume]      `json:"fuel_level,omitzero"`       // fuel in the tank
	Ethanol   Q[quantity.Fraction]    `json:"ethanol,omitzero"`          // ethanol in the fuel, by volume
	FuelTemp  Q[quantity.Temperature] `json:"fuel_temperature,omitzero"` // temperature of the fuel in the tank
	AirTemp   Q[quantity.Temperature] `json:"air_temperature,omitzero"`  // temperature of the air outside
	Barometer Q[quantity.Absolute]    `json:"barometer,omitzero"`        // pressure of the air outside
	Charger   Answer                  `json:"charger,omitempty"`         // battery charger connected
}

// CautionData answers a caution.
type CautionData struct {
	Caution     string       `json:"caution"`                         // id of the caution: feedproof explain K01
	State       CautionState `json:"state"`                           // how it was answered
	Proof       string       `json:"proof,omitempty"`                 // what shows it
	Why         string       `json:"why,omitempty"`                   // why it does not apply
	Evidence    []string     `json:"evidence,omitempty" form:"id"`    // ids of the entries of photos and files that show it
	Readings    []string     `json:"readings,omitempty" form:"id"`    // ids of the entries of readings that show it
	Persons     []string     `json:"persons,omitempty"`               // who took part
	Where       string       `json:"where,omitempty"`                 // the joint, for a leak
	Inspected   string       `json:"inspected,omitempty" form:"date"` // last inspection of the extinguishers
	Agent       Agent        `json:"agent,omitempty"`                 // what the extinguishers hold
	Certificate *Certificate `json:"certificate,omitempty"`           // of a tank that was cleaned
}

// EntryKind names the kind.
func (CautionData) EntryKind() string { return "caution" }

// Agent is what an extinguisher holds.
type Agent string

// PlainFoam is foam that alcohol takes apart.
const PlainFoam Agent = "foam"

// Values lists the words an Agent may be, for the schema.
func (Agent) Values() []string {
	return []string{"powder", "foam", "alcohol-resistant foam", "carbon dioxide", "other"}
}

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
	File     string       `json:"file"`                 // name of the file as it came
	SHA256   string       `json:"sha256" form:"sha256"` // hash of the file's bytes, in hexadecimal
	Bytes    int64        `json:"bytes"`                // size of the file
	Run      string       `json:"run"`                  // idle, pull, road
	Mapping  []ChannelMap `json:"mapping"`              // which column is which channel
	Gates    []NamedValue `json:"gates,omitempty"`      // thresholds that cut the pull out of the log
	Worst    []NamedValue `json:"worst,omitempty"`      // worst values of the pull
	Verdicts []Verdict    `json:"verdicts,omitempty"`   // what the log shows and what it cannot prove
	Map      string       `json:"map,omitempty"`        // calibration hash or version
	Note     string       `json:"note,omitempty"`       // in words
}

// EntryKind names the kind.
func (DatalogData) EntryKind() string { return "datalog" }

// ChannelMap says which column is which channel.
type ChannelMap struct {
	Column  string `json:"column"`            // heading in the log
	Channel string `json:"channel"`           // what it measures
	Unit    string `json:"unit" form:"blank"` // unit of the numbers in the log, blank for none
	Sensor  string `json:"sensor,omitempty"`  // reference of a pressure sensor: gauge, absolute, sealed
	Events  int    `json:"events,omitempty"`  // injections per 720 degrees
}

// NamedValue is a computed value with the time in the log at which it stood.
type NamedValue struct {
	Name  string `json:"name"`              // what it is
	Value string `json:"value"`             // number, or a word
	Unit  string `json:"unit" form:"blank"` // unit of the number, blank for none
	At    string `json:"at,omitempty"`      // seconds into the log
}

// Verdict is what a signature or a proof check said of a log.
type Verdict struct {
	ID    string `json:"id"`    // signature or check: feedproof explain ID
	State string `json:"state"` // how it came out
	Text  string `json:"text"`  // in words
}

// EvidenceData is a photo or file kept by hash.
type EvidenceData struct {
	SHA256   string   `json:"sha256" form:"sha256"`             // hash of the kept file's bytes, in hexadecimal
	Bytes    int64    `json:"bytes"`                            // size of the kept file
	Type     string   `json:"type"`                             // media type
	What     string   `json:"what"`                             // what it shows, in words
	Original string   `json:"original,omitempty" form:"sha256"` // SHA-256 of the file as it came
	Step     string   `json:"step,omitempty"`                   // id of the step it belongs to
	Entries  []string `json:"entries,omitempty" form:"id"`      // ids of the entries that it shows
}

// EntryKind names the kind.
func (EvidenceData) EntryKind() string { return "evidence" }

// HoldPointData closes or re-opens a hold point.
type HoldPointData struct {
	Point  string      `json:"point"`                     // HP0 to HP11: feedproof explain HP5
	Action PointAction `json:"action"`                    // closed or opened again
	Second string      `json:"second,omitempty"`          // second person who is to confirm it
	Rests  []string    `json:"rests,omitempty" form:"id"` // entries it rests on
	Late   string      `json:"late,omitempty"`            // why it was closed after the act that it guards
	Why    string      `json:"why,omitempty"`             // reason, in words
}

// EntryKind names the kind.
func (HoldPointData) EntryKind() string { return "holdpoint" }

// ConfirmData is the second pair of eyes: its author saw with their own what
// another person's entry says, and signs it with their own hand.
type ConfirmData struct {
	Entry string `json:"entry" form:"id"` // the closing, step or reading that it confirms
	Saw   string `json:"saw,omitempty"`   // what was seen, in words
}

// EntryKind names the kind.
func (ConfirmData) EntryKind() string { return "confirm" }

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
	Rule    string    `json:"rule"`             // of the finding that it answers
	Subject string    `json:"subject"`          // of the finding
	Code    code.Code `json:"code"`             // of the finding
	Values  []Amount  `json:"values,omitempty"` // of the finding, as they were: worse ones lapse the answer
	Why     string    `json:"why"`              // why it may stand, in words
}

// EntryKind names the kind.
func (AcknowledgeData) EntryKind() string { return "acknowledge" }

// Acknowledged is the answer to a finding as it is now.
func (f Finding) Acknowledged(why string) AcknowledgeData {
	return AcknowledgeData{Rule: f.Rule, Subject: f.Subject, Code: f.Code, Values: f.Values, Why: why}
}

// Key is that of the finding that it answers.
func (d AcknowledgeData) Key() string {
	return Finding{Rule: d.Rule, Subject: d.Subject, Code: d.Code}.Key()
}

// WaiveData is a lead's bounded answer to a HOLD.
type WaiveData struct {
	Rule     string    `json:"rule"`                // of the finding that it answers
	Subject  string    `json:"subject"`             // of the finding
	Code     code.Code `json:"code"`                // of the finding
	Values   []Amount  `json:"values,omitempty"`    // of the finding, as they were: worse ones lapse the waiver
	Limits   []Bound   `json:"limits,omitempty"`    // that were not met
	Why      string    `json:"why"`                 // reason, in words
	Measure  string    `json:"measure"`             // compensating measure
	Expires  string    `json:"expires" form:"date"` // RFC 3339 full-date
	Informed Answer    `json:"informed"`            // the customer knows
}

// EntryKind names the kind.
func (WaiveData) EntryKind() string { return "waive" }

// Key is that of the finding that it answers.
func (d WaiveData) Key() string { return Finding{Rule: d.Rule, Subject: d.Subject, Code: d.Code}.Key() }

// HoldData says that a commit kept the facts with the car held.
type HoldData struct {
	Findings []Finding `json:"findings"`      // as shown on the day
	RuleSet  string    `json:"rule_set"`      // version of the rules that said so
	Why      string    `json:"why,omitempty"` // reason, in words
}

// EntryKind names the kind.
func (HoldData) EntryKind() string { return "hold" }

// IncidentData records something that went wrong.
type IncidentData struct {
	What     string `json:"what"`             // what happened, in words
	Severity string `json:"severity"`         // how bad it was, in words
	Injury   Answer `json:"injury"`           // somebody was hurt
	Action   string `json:"action,omitempty"` // what was done about it
}

// EntryKind names the kind.
func (IncidentData) EntryKind() string { return "incident" }
