package signature

import (
	"fmt"
	"slices"

	"feedproof/schema"
)

// reserved kinds of entry take one of these roles. Every other kind is open to anyone who may write at all.
var reserved = map[string][]schema.Role{
	schema.PersonData{}.EntryKind():  {schema.Lead},
	schema.KeyData{}.EntryKind():     {schema.Lead},
	schema.LimitData{}.EntryKind():   {schema.Lead},
	schema.WaiveData{}.EntryKind():   {schema.Lead},
	schema.SignOffData{}.EntryKind(): {schema.Lead},
}

// confined roles write these kinds alone, unless the person has another role as well.
var confined = map[schema.Role][]string{
	schema.Auditor: {schema.NoteData{}.EntryKind()},
}

// personal kinds are by the person who signs them: nobody waives or signs off for another.
var personal = []string{schema.WaiveData{}.EntryKind(), schema.SignOffData{}.EntryKind()}

// May returns nil when the person may write entries of this kind now, or says what it takes.
func (r Roster) May(person, kind string) error {
	m, known := r.Member(person)
	switch {
	case !known:
		return fmt.Errorf("person %s: is not in this shop's roster", person)
	case !m.Active():
		return fmt.Errorf("person %s: has no key that counts", person)
	case slices.ContainsFunc(m.Roles, func(role schema.Role) bool { return allows(role, kind) }):
		return nil
	case len(reserved[kind]) > 0:
		return fmt.Errorf("person %s: may not write a %s: it takes the role %s", person, kind, reserved[kind][0])
	default:
		return fmt.Errorf("person %s: may not write a %s with the roles %v", person, kind, m.Roles)
	}
}

func allows(role schema.Role, kind string) bool {
	if only, ok := confined[role]; ok {
		return slices.Contains(only, kind)
	}
	roles, ok := reserved[kind]
	return !ok || slices.Contains(roles, role)
}

// MaySign returns nil when the signer may put this entry into a record, or says why not.
func (r Roster) MaySign(signer string, e schema.Entry) error {
	if err := r.May(signer, e.Kind); err != nil {
		return err
	}
	if slices.Contains(personal, e.Kind) && e.By != signer {
		return fmt.Errorf("person %s: may not sign a %s by %s: it is for that person alone", signer, e.Kind, e.By)
	}
	return nil
}
