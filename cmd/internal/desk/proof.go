package desk

import (
	"encoding/json"

	"feedproof/checklist/state"
	"feedproof/schema"
)

// Proof is a car's last sign-off as OpenSSH checks it without this program.
type Proof struct {
	Person    string // who signed
	Statement []byte // exactly what was signed
	Signature []byte // the detached signature over it
	Signers   []byte // the allowed signers of the shop
}

// Proof hands over a car's last sign-off.
func (d *Desk) Proof(c Car) (Proof, error) {
	last, ok := state.LastSaid[schema.SignOffData](c.Record)
	if !ok {
		return Proof{}, failed("feedproof signoff "+Quoted(c.Data.Name), c.Data.Name, "is not signed off")
	}
	statement, err := statementBytes(last.Entry)
	if err != nil {
		return Proof{}, err
	}
	roster, err := d.Roster()
	if err != nil {
		return Proof{}, err
	}
	return Proof{last.Data.Statement.Person, statement, []byte(last.Data.Signature), []byte(roster.AllowedSigners())}, nil
}

// statementBytes is exactly what was signed.
func statementBytes(e schema.Entry) ([]byte, error) {
	var raw struct {
		Statement json.RawMessage `json:"statement"`
	}
	if err := json.Unmarshal(e.Data, &raw); err != nil {
		return nil, err
	}
	return schema.Canonical(raw.Statement)
}
