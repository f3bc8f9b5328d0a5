package schema

import "feedproof/schema/quantity"

// SignOffData is a lead's signature over exactly what was seen.
type SignOffData struct {
	Statement Statement `json:"statement"`
	Signature string    `json:"signature"` // SSHSIG, armored, over the canonical statement
}

// EntryKind names the kind.
func (SignOffData) EntryKind() string { return "signoff" }

// Statement is what a lead signs.
type Statement struct {
	Meaning  string    `json:"meaning"` // in words
	Record   string    `json:"record" form:"id"`
	Entries  int       `json:"entries"`              // how many entries were seen
	Digest   string    `json:"digest" form:"sha256"` // SHA-256 over their bytes, see Digest
	Person   string    `json:"person" form:"id"`
	Role     Role      `json:"role"`
	At       string    `json:"at" form:"time"`
	RuleSet  string    `json:"rule_set"`
	Envelope Envelope  `json:"envelope"`
	Findings []Finding `json:"findings,omitempty"`  // every finding above OK, as shown
	Recheck  string    `json:"recheck" form:"date"` // date the car is due back
}

// Envelope is the limits under which the car may leave.
type Envelope struct {
	Power      Q[quantity.Power]       `json:"power"`
	Manifold   Q[quantity.Absolute]    `json:"manifold"`
	Speed      Q[quantity.EngineSpeed] `json:"speed"`
	EthanolMin Q[quantity.Fraction]    `json:"ethanol_min"`
	EthanolMax Q[quantity.Fraction]    `json:"ethanol_max"`
	Altitude   Q[quantity.Length]      `json:"altitude"`
	FuelLevel  Q[quantity.Fraction]    `json:"fuel_level"` // least, for hard driving
}
