package signature

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"feedproof/schema"

	"golang.org/x/crypto/ssh"
)

// Roster is who is in the shop: the person and key entries of its record, folded in order. The zero value is empty.
type Roster struct {
	people   map[string]*Member
	ends     map[string]schema.Entry // that revoke a key
	last     map[string]string       // the entry that last described a person
	gone     map[string][]string     // the entries that revoke a key, by the key
	sight    *schema.Sight
	problems []error
}

// Member is a person of the roster as it stands now.
type Member struct {
	schema.PersonData
	Keys []Key // every key that ever counted, oldest first
}

const (
	addKey    schema.KeyAction = "add"
	revokeKey schema.KeyAction = "revoke"
)

// Key is one of a person's keys.
type Key struct {
	Public  ssh.PublicKey
	From    int64    // counter of the entry that added it
	Revoked int64    // counter of the entry that revoked it; 0 while it counts
	Ends    []string // the entries that revoke it
}

// NewRoster folds the shop's record: corrections first, then people and their keys, then revocations, which hold whatever came first. An
// entry that cannot count, such as one that gives a person another's key, changes nothing and is among the Problems: a merge must never lock
// a shop out of its own roster.
func NewRoster(shop schema.Record) Roster {
	sight := schema.NewSight(shop.Entries)
	r := Roster{people: map[string]*Member{}, ends: map[string]schema.Entry{}, last: map[string]string{}, sight: sight}
	dead := takenBack(shop, sight)
	r.gone = revocations(shop, dead)
	for _, ending := range []bool{false, true} {
		for _, e := range shop.Entries {
			if dead[e.ID] || isRevocation(e) != ending {
				continue
			}
			if err := r.add(e); err != nil {
				r.problems = append(r.problems, fmt.Errorf("entry %s: %w", e.ID, err))
			}
		}
	}
	return r
}

// takenBack are the entries that a correction took back: something good at once, a revocation only by who saw it. The first entry stands, or
// the shop would have no beginning; a taking-back is never taken back.
func takenBack(shop schema.Record, sight *schema.Sight) map[string]bool {
	dead := map[string]bool{}
	for _, e := range shop.Entries {
		if e.Kind != correct {
			continue
		}
		data, err := read[schema.CorrectData](e)
		if err != nil {
			continue
		}
		t, there := shop.Entry(data.Entry)
		if there && t.Kind != correct && t.ID != shop.Entries[0].ID && (!isRevocation(t) || sight.Saw(e.ID, t.ID)) {
			dead[t.ID] = true
		}
	}
	return dead
}

// revocations are the entries that revoke each key, by its bytes.
func revocations(shop schema.Record, dead map[string]bool) map[string][]string {
	gone := map[string][]string{}
	for _, e := range shop.Entries {
		if dead[e.ID] || !isRevocation(e) {
			continue
		}
		data, _ := read[schema.KeyData](e)
		if public, err := ParseKey(data.Key); err == nil {
			gone[string(public.Marshal())] = append(gone[string(public.Marshal())], e.ID)
		}
	}
	return gone
}

var correct = schema.CorrectData{}.EntryKind()

func isRevocation(e schema.Entry) bool {
	if e.Kind != (schema.KeyData{}).EntryKind() {
		return false
	}
	data, err := read[schema.KeyData](e)
	return err == nil && data.Action == revokeKey
}

func (r Roster) add(e schema.Entry) error {
	switch e.Kind {
	case schema.PersonData{}.EntryKind():
		data, err := read[schema.PersonData](e)
		if err != nil {
			return err
		}
		return r.addPerson(data, e)
	case schema.KeyData{}.EntryKind():
		data, err := read[schema.KeyData](e)
		if err != nil {
			return err
		}
		return r.changeKey(data, e)
	}
	return nil
}

// read takes of an entry what this program knows. Who is in the shop must be the same for all its machines, also for one that is behind.
func read[T schema.Data](e schema.Entry) (data T, err error) {
	if err = json.Unmarshal(e.Data, &data); err != nil {
		err = fmt.Errorf("data: %w", err)
	}
	return data, err
}

func (r Roster) addPerson(data schema.PersonData, e schema.Entry) error {
	m, known := r.people[data.Person]
	if !known {
		m = &Member{}
	}
	if err := r.addKey(m, data.Person, data.Key, e); err != nil {
		return err
	}
	if known && !r.sight.Saw(e.ID, r.last[data.Person]) { // both stand: the narrower counts until somebody has seen both
		data.Roles = slices.DeleteFunc(slices.Clone(data.Roles), func(role schema.Role) bool { return !m.Has(role) })
	}
	m.PersonData, r.last[data.Person] = data, e.ID
	r.people[data.Person] = m
	return nil
}

// addKey gives a person a key. A key is one person's for ever, and one that was revoked does not come back.
func (r Roster) addKey(m *Member, person, line string, e schema.Entry) error {
	public, err := ParseKey(line)
	if err != nil {
		return fmt.Errorf("person %s: %w", person, err)
	}
	owner, key := r.find(public)
	switch {
	case key == nil:
		m.Keys = append(m.Keys, Key{Public: public, From: e.Counter})
	case owner.Person != person:
		return fmt.Errorf("person %s: key %s belongs to %s already", person, Fingerprint(public), owner.Person)
	case slices.ContainsFunc(r.gone[string(public.Marshal())], func(end string) bool { return r.sight.Saw(e.ID, end) }):
		return fmt.Errorf("person %s: key %s was revoked and does not come back: make a new one", person, Fingerprint(public))
	}
	return nil
}

func (r Roster) changeKey(data schema.KeyData, e schema.Entry) error {
	m, known := r.people[data.Person]
	if !known {
		return fmt.Errorf("person %s: is not in the roster", data.Person)
	}
	switch data.Action {
	case addKey:
		return r.addKey(m, data.Person, data.Key, e)
	case revokeKey:
		r.ends[e.ID] = e
		return m.revoke(data.Key, e)
	}
	return fmt.Errorf("person %s: %q cannot be done to a key", data.Person, data.Action)
}

func (m *Member) revoke(line string, e schema.Entry) error {
	public, err := ParseKey(line)
	if err != nil {
		return fmt.Errorf("person %s: %w", m.Person, err)
	}
	for i := range m.Keys {
		if k := &m.Keys[i]; SameKey(k.Public, public) {
			if k.Revoked == 0 {
				k.Revoked = e.Counter
			}
			k.Ends = append(k.Ends, e.ID)
			return nil
		}
	}
	return fmt.Errorf("person %s: has no key %s", m.Person, Fingerprint(public))
}

// find is whose key this is or ever was.
func (r Roster) find(public ssh.PublicKey) (*Member, *Key) {
	for _, m := range r.people {
		for i := range m.Keys {
			if SameKey(m.Keys[i].Public, public) {
				return m, &m.Keys[i]
			}
		}
	}
	return nil, nil
}

// Active reports whether the person has a key that counts.
func (m Member) Active() bool {
	return slices.ContainsFunc(m.Keys, func(k Key) bool { return k.Revoked == 0 })
}

// Has reports whether the person has the role.
func (m Member) Has(role schema.Role) bool { return slices.Contains(m.Roles, role) }

// Member is a person by id, also one whose keys are all revoked.
func (r Roster) Member(id string) (Member, bool) {
	m, known := r.people[id]
	if !known {
		return Member{}, false
	}
	return *m, true
}

// Members lists everyone, by id.
func (r Roster) Members() []Member {
	var all []Member
	for _, id := range slices.Sorted(maps.Keys(r.people)) {
		all = append(all, *r.people[id])
	}
	return all
}

// Problems lists the entries that changed nothing, and why.
func (r Roster) Problems() []error { return r.problems }

// Signer finds whose key this is. One that was revoked is an error that says so.
func (r Roster) Signer(public ssh.PublicKey) (Member, error) {
	m, key := r.find(public)
	if m == nil {
		return Member{}, fmt.Errorf("key %s: is nobody's in this shop's roster", Fingerprint(public))
	}
	if key.Revoked > 0 {
		return *m, fmt.Errorf("person %s: key %s was revoked at counter %d", m.Person, Fingerprint(public), key.Revoked)
	}
	return *m, nil
}

// Author proves that the author of an entry signed its message (see schema.Scope), and gives the key. The newest key is tried first; one
// that was revoked is an error that says so.
func (r Roster) Author(e schema.Entry, message []byte) (Key, error) {
	m, known := r.Member(e.By)
	switch {
	case e.Sig == "":
		return Key{}, errors.New("is not signed by its author")
	case !known:
		return Key{}, fmt.Errorf("person %s: was not in the roster that the entry stands on", e.By)
	}
	err := fmt.Errorf("person %s: had no key", e.By)
	for _, k := range slices.Backward(m.Keys) {
		if err = CheckEntry(message, e.Sig, k.Public); err != nil {
			continue
		}
		if k.Revoked > 0 {
			return k, fmt.Errorf("person %s: signed with key %s, which was revoked at counter %d", e.By, Fingerprint(k.Public), k.Revoked)
		}
		return k, nil
	}
	return Key{}, fmt.Errorf("person %s: %w", e.By, err)
}

// KeyOf finds a key among those of a person that ever counted.
func (r Roster) KeyOf(person string, public ssh.PublicKey) (Key, bool) {
	owner, key := r.find(public)
	if key == nil || owner.Person != person {
		return Key{}, false
	}
	return *key, true
}

// Revocation is an entry that revokes a key.
func (r Roster) Revocation(id string) (schema.Entry, bool) {
	e, there := r.ends[id]
	return e, there
}

// AllowedSigners is the roster in OpenSSH's allowed_signers format: a line for each key that ever counted, so that what it signed then
// still verifies. The principal is the person's id.
func (r Roster) AllowedSigners() string {
	var lines strings.Builder
	for _, m := range r.Members() {
		for _, k := range m.Keys {
			fmt.Fprintf(&lines, "%s namespaces=\"%s,%s,%s\" %s\n", m.Person, Git, Statement, Entry, KeyLine(k.Public))
		}
	}
	return lines.String()
}
