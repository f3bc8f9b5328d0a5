package schema

import "feedproof/schema/quantity"

// SignOffData is a lead's signature over exactly what was seen.
type SignOffData struct {
	Statement Statement `json:"statement"` // what was signed
	Signature string    `json:"signature"` // SSHSIG, armored, over the canonical statement
}

// EntryKind names the kind.
func (SignOffData) EntryKind() string { return "signoff" }

// Statement is what a lead signs.
type Statement struct {
	Meaning  string    `json:"meaning"`              // in words
	Record   string    `json:"record" form:"id"`     // id of the vehicle's record
	Entries  int       `json:"entries"`              // how many entries were seen
	Digest   string    `json:"digest" form:"sha256"` // SHA-256 over their bytes, see Digest
	Person   string    `json:"person" form:"id"`     // id of the lead who signs
	Role     Role      `json:"role"`                 // role in which the lead signs
	At       string    `json:"at" form:"time"`       // when it was signed
	RuleSet  string    `json:"rule_set"`             // version of the rules under which the car was judged
	Envelope Envelope  `json:"envelope"`             // limits under which the car leaves
	Findings []Finding `json:"findings,omitempty"`   // every finding above OK, as shown
	Recheck  string    `json:"recheck" form:"date"`  // date the car is due back
}

// Envelope is the limits under which the car may leave.
type Envelope struct {
	Power      Q[quantity.Power]       `json:"power"`       // most engine power
	Manifold   Q[quantity.Absolute]    `json:"manifold"`    // most manifold pressure, absolute
	Speed      Q[quantity.EngineSpeed] `json:"speed"`       // most engine speed
	EthanolMin Q[quantity.Fraction]    `json:"ethanol_min"` // least ethanol in the fuel, by volume
	EthanolMax Q[quantity.Fraction]    `json:"ethanol_max"` // most ethanol in the fuel, by volume
	Altitude   Q[quantity.Length]      `json:"altitude"`    // highest place of use
	FuelLevel  Q[quantity.Fraction]    `json:"fuel_level"`  // least fuel in the tank for hard driving, share of full
}

// Narrowed is the statement with the narrower of both limits, each, and the
// earlier re-check: what holds where two leads signed without knowing of each
// other.
func (s Statement) Narrowed(other Statement) Statement {
	e, o := &s.Envelope, other.Envelope
	e.Power, e.Manifold, e.Speed = lower(e.Power, o.Power), lower(e.Manifold, o.Manifold), lower(e.Speed, o.Speed)
	e.EthanolMax, e.Altitude = lower(e.EthanolMax, o.EthanolMax), lower(e.Altitude, o.Altitude)
	e.EthanolMin, e.FuelLevel = higher(e.EthanolMin, o.EthanolMin), higher(e.FuelLevel, o.FuelLevel)
	s.Recheck = min(s.Recheck, other.Recheck)
	return s
}

// lower is the lower of two limits; one that is no number limits nothing.
func lower[T quantity.Quantity](a, b Q[T]) Q[T] {
	x, errA := a.SI()
	y, errB := b.SI()
	if errA != nil || errB == nil && y < x {
		return b
	}
	return a
}

func higher[T quantity.Quantity](a, b Q[T]) Q[T] {
	x, errA := a.SI()
	y, errB := b.SI()
	if errA != nil || errB == nil && y > x {
		return b
	}
	return a
}
