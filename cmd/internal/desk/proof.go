package desk

import (
	"encoding/json"

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
	e, ok := lastSignOff(c.Record)
	if !ok {
		return Proof{}, failed("feedproof signoff "+Quoted(c.Data.Name), c.Data.Name, "is not signed off")
	}
	data, err := schema.Into[schema.SignOffData](e)
	if err != nil {
		return Proof{}, err
	}
	statement, err := statementBytes(e)
	if err != nil {
		return Proof{}, err
	}
	roster, err := d.Roster()
	if err != nil {
		return Proof{}, err
	}
	return Proof{data.Statement.Person, statement, []byte(data.Signature), []byte(roster.AllowedSigners())}, nil
}

func lastSignOff(r schema.Record) (schema.Entry, bool) {
	for i := len(r.Entries) - 1; i >= 0; i-- {
		if r.Entries[i].Kind == (schema.SignOffData{}).EntryKind() {
			return r.Entries[i], true
		}
	}
	return schema.Entry{}, false
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
