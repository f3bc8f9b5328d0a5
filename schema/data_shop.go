package schema

import "feedproof/schema/quantity"

// PersonData adds or changes a person of the roster.
type PersonData struct {
	Person   string `json:"person" form:"id"`   // id, never reused
	Name     string `json:"name"`               // full name
	Initials string `json:"initials,omitempty"` // as signed on paper
	Roles    []Role `json:"roles"`              // what they may do
	Key      string `json:"key"`                // OpenSSH public key line
}

// EntryKind names the kind.
func (PersonData) EntryKind() string { return "person" }

// Role is what a person may do in the shop.
type Role string

// Roles, by the trade's table of who may do what.
const (
	Apprentice     Role = "apprentice"
	Technician     Role = "technician"
	FuelTechnician Role = "fuel technician"
	HotWork        Role = "hot work"
	Tuner          Role = "tuner"
	Stores         Role = "stores"
	Lead           Role = "lead"
	Auditor        Role = "auditor"
)

// Values lists the words a Role may be, for the schema.
func (Role) Values() []string {
	return []string{"apprentice", "technician", "fuel technician", "hot work", "tuner", "stores", "lead", "auditor"}
}

// KeyData adds or revokes a signing key of a person. A revoked key signs no
// new entry; what it signed up to the counter of this entry stays valid.
type KeyData struct {
	Person string    `json:"person" form:"id"` // whose key it is
	Key    string    `json:"key"`              // OpenSSH public key line
	Action KeyAction `json:"action"`           // added or revoked
	Why    string    `json:"why,omitempty"`    // reason, in words
}

// EntryKind names the kind.
func (KeyData) EntryKind() string { return "key" }

// KeyAction is what happens to a key.
type KeyAction string

// Values lists the words a KeyAction may be, for the schema.
func (KeyAction) Values() []string { return []string{"add", "revoke"} }

// LimitData tightens a limit for this shop. Loosening what the code fixes has
// no effect.
type LimitData struct {
	Limit string `json:"limit"`               // L05, L06, ...
	Value string `json:"value" form:"number"` // number as written
	Unit  string `json:"unit,omitempty"`      // unit of the value, blank for a plain number
	Why   string `json:"why"`                 // reason, in words
}

// EntryKind names the kind.
func (LimitData) EntryKind() string { return "limit" }

// BayData describes a bay once.
type BayData struct {
	Bay        string             `json:"bay"`                        // number or name of the bay
	AirSpace   string             `json:"air_space,omitempty"`        // bays with the same word share their air
	Neighbours []string           `json:"neighbours,omitempty"`       // bays beside it
	Distance   Q[quantity.Length] `json:"distance,omitzero"`          // distance to the nearest neighbour
	Device     string             `json:"device,omitempty" form:"id"` // machine that stands in it
	Knows      []string           `json:"knows,omitempty"`            // what the program of that machine knows of the format, see Knowledge
}

// EntryKind names the kind.
func (BayData) EntryKind() string { return "bay" }
