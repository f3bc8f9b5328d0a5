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
