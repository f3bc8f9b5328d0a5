package records

import (
	"encoding/json"
	"fmt"

	"feedproof/records/signature"
	"feedproof/schema"

	"golang.org/x/crypto/ssh"
)

// checkEntry holds a new entry to the roster, and a sign-off to what it saw of the record.
func checkEntry(roster signature.Roster, signer string, after schema.Record, e schema.Entry) error {
	if err := roster.MaySign(signer, e); err != nil {
		return &RoleError{Person: signer, Entry: e.ID, Reason: err}
	}
	if e.Kind == (schema.CorrectData{}).EntryKind() {
		return checkCorrection(roster, signer, after, e)
	}
	if e.Kind != (schema.SignOffData{}).EntryKind() {
		return nil
	}
	key, err := StatementKey(e)
	if err != nil {
		return err
	}
	owner, err := roster.Signer(key)
	if err == nil && owner.Person != e.By {
		err = fmt.Errorf("person %s: the statement is signed with %s's key", e.By, owner.Person)
	}
	if err != nil {
		return &RoleError{Person: e.By, Entry: e.ID, Reason: err}
	}
	if schema.Newer(after.Kind, e) != "" {
		return nil // what only a newer program knows it alone can hold to anything; nobody here takes it for a sign-off
	}
	return checkStatement(after, schema.NewSight(after.Entries), e)
}

// checkCorrection lets nobody take back of the shop's own record what they and its author may not write.
func checkCorrection(roster signature.Roster, signer string, after schema.Record, e schema.Entry) error {
	var data schema.CorrectData
	if after.Kind != schema.ShopRecord || json.Unmarshal(e.Data, &data) != nil {
		return nil
	}
	wrong, there := after.Entry(data.Entry)
	if !there {
		return nil
	}
	for _, person := range []string{signer, e.By} {
		if err := roster.May(person, wrong.Kind); err != nil {
			return &RoleError{Person: person, Entry: e.ID, Reason: err}
		}
	}
	return nil
}

// checkStatement holds a sign-off to what it saw: the same vehicle, exactly these entries, and the signer's own statement.
func checkStatement(r schema.Record, sight *schema.Sight, e schema.Entry) error {
	data, err := schema.Into[schema.SignOffData](e)
	if err != nil {
		return err
	}
	seen := sight.Seen(e.ID)
	switch st := data.Statement; {
	case st.Record != r.ID:
		return fmt.Errorf("entry %s: signs off %s, and stands in %s", e.ID, st.Record, r.ID)
	case st.Person != e.By:
		return fmt.Errorf("entry %s: is by %s, and its statement by %s", e.ID, e.By, st.Person)
	case st.Entries != len(seen) || st.Digest != schema.Digest(seen):
		return fmt.Errorf("entry %s: signs off other entries than it saw: read the record again and sign that", e.ID)
	}
	return nil
}

// StatementKey is the key that signed a sign-off's statement. The signature is over the canonical bytes of the statement, in the
// namespace signature.Statement.
func StatementKey(e schema.Entry) (ssh.PublicKey, error) {
	var data struct {
		Statement json.RawMessage `json:"statement"`
		Signature string          `json:"signature"`
	}
	if err := json.Unmarshal(e.Data, &data); err != nil {
		return nil, fmt.Errorf("entry %s: %w", e.ID, err)
	}
	statement, err := schema.Canonical(data.Statement)
	if err != nil {
		return nil, fmt.Errorf("entry %s: %w", e.ID, err)
	}
	key, err := signature.Verify(signature.Statement, statement, []byte(data.Signature))
	if err != nil {
		return nil, fmt.Errorf("entry %s: statement: %w", e.ID, err)
	}
	return key, nil
}
