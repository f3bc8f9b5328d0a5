package records

import (
	"errors"
	"slices"

	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
)

// Doubted is a record of the view, with or without entries of a draft, with its doubts filled in: the entries of which it is not proven who
// wrote them or what they saw.
func (v View) Doubted(r schema.Record) (schema.Record, error) { return v.doubted(r) }

func (v View) doubted(r schema.Record) (schema.Record, error) {
	first, err := v.shop.firstKey()
	if err != nil {
		return r, err
	}
	now, err := v.shop.proofs.rosterAt(v.commit)
	if err != nil {
		return r, err
	}
	d := doubter{
		proofs: v.shop.proofs, now: now, record: r, sight: schema.NewSight(r.Entries), hashes: schema.HashesOf(r.Of(first), r.Entries),
		keys: make([]signature.Key, len(r.Entries)), faults: make([]error, len(r.Entries)), first: first,
	}
	r.Doubts, r.Newer = d.doubts(), d.newer()
	return r, nil
}

// doubter looks for what is not proven in one record.
type doubter struct {
	proofs *proofs
	now    signature.Roster // of the view
	record schema.Record
	sight  *schema.Sight
	hashes schema.Hashes
	first  string
	keys   []signature.Key // that signed each entry
	faults []error
}

// doubts are the reasons, by entry; nil without any.
func (d *doubter) doubts() map[string]string {
	each(len(d.record.Entries), func(i int) { d.keys[i], d.faults[i] = d.author(d.record.Entries[i]) })
	d.distrustRevoked()
	for i, e := range d.record.Entries {
		if e.Kind == (schema.SignOffData{}).EntryKind() && d.faults[i] == nil && schema.Newer(d.record.Kind, e) == "" {
			d.faults[i] = d.statement(e)
		}
	}
	doubts := map[string]string{}
	for i, fault := range d.faults {
		if fault != nil {
			doubts[d.record.Entries[i].ID] = fault.Error()
		}
	}
	for _, f := range d.sight.Faults() {
		if !f.Fork && doubts[f.Entry] == "" {
			doubts[f.Entry] = f.Reason
		}
	}
	if len(doubts) == 0 {
		return nil
	}
	return doubts
}

// newer is what only a newer program knows, by entry; nil when there is nothing.
func (d *doubter) newer() map[string]string {
	what := make([]string, len(d.record.Entries))
	each(len(what), func(i int) { what[i] = schema.Newer(d.record.Kind, d.record.Entries[i]) })
	var newer map[string]string
	for i, e := range d.record.Entries {
		if what[i] != "" {
			if newer == nil {
				newer = map[string]string{}
			}
			newer[e.ID] = what[i]
		}
	}
	return newer
}

// author proves an entry's author, whose key must be theirs by the roster of the view too.
func (d *doubter) author(e schema.Entry) (signature.Key, error) {
	key, err := signature.Key{}, error(nil)
	if e.Head == "" && len(e.After) == 0 && d.record.Kind == schema.ShopRecord {
		key, err = d.founder(e)
	} else {
		key, err = d.proofs.authored(d.hashes, e)
	}
	if err != nil {
		return key, err
	}
	known, its := d.now.KeyOf(e.By, key.Public)
	if !its {
		return key, errors.New("person " + e.By + ": signed with a key that is not theirs")
	}
	return known, nil
}

// founder proves the first entry of a shop: it is signed with the first key.
func (d *doubter) founder(e schema.Entry) (signature.Key, error) {
	key, err := authoredBy(d.now, d.hashes, e)
	if key.Public != nil && signature.Fingerprint(key.Public) == d.first {
		return key, nil // also when it was revoked since: it signed before anything
	}
	return key, errors.Join(err, errors.New("is not signed with the first key of the shop"))
}

// statement holds a sign-off to what it saw.
func (d *doubter) statement(e schema.Entry) error {
	key, err := StatementKey(e)
	if err != nil {
		return err
	}
	if _, its := d.now.KeyOf(e.By, key); !its {
		return errors.New("person " + e.By + ": the statement is signed with a key that is not theirs")
	}
	return checkStatement(d.record, d.sight, e)
}

// distrustRevoked sets aside what a revoked key signed that the revocation had not seen, unless another person built on it who had not seen
// the revocation either: they vouch for it. Everybody comes to the same answer, whatever reached them first.
func (d *doubter) distrustRevoked() {
	if !slices.ContainsFunc(d.keys, func(k signature.Key) bool { return k.Revoked > 0 }) {
		return
	}
	ends := d.revocations()
	for i, e := range slices.Backward(d.record.Entries) {
		for _, id := range d.keys[i].Ends {
			if r := ends[id]; d.faults[i] == nil && !r.saw(e.ID) && !d.vouched(i, r) {
				d.faults[i] = errors.New("person " + e.By + ": signed with a key that was revoked, and nobody who did not know of it built on this")
			}
		}
	}
}

// vouched reports that another person, proven, wrote with this entry in view and without the revocation.
func (d *doubter) vouched(i int, r revocation) bool {
	e := d.record.Entries[i]
	for j, f := range slices.Backward(d.record.Entries) {
		if j <= i {
			return false
		}
		if f.By != e.By && d.faults[j] == nil && d.sight.Saw(f.ID, e.ID) && !r.seenAt(f.Head) && !(d.record.Kind == schema.ShopRecord && d.sight.Saw(f.ID, r.id)) {
			return true
		}
	}
	return false
}

// revocation is an entry that revokes a key, and what it had seen of the record in question.
type revocation struct {
	id     string
	saw    func(entry string) bool
	seenAt func(head string) bool // whether the revocation stood in the shop at a commit
}

func (d *doubter) revocations() map[string]revocation {
	ends := map[string]revocation{}
	for _, k := range d.keys {
		for _, id := range k.Ends {
			if _, known := ends[id]; !known {
				ends[id] = d.revocation(id)
			}
		}
	}
	return ends
}

// revocation reads what a revocation had seen. What cannot be read it had not seen.
func (d *doubter) revocation(id string) revocation {
	r := revocation{id: id, saw: func(string) bool { return false }, seenAt: func(head string) bool {
		roster, err := d.proofs.rosterAt(plumbing.NewHash(head))
		_, there := roster.Revocation(id)
		return err != nil || there
	}}
	e, there := d.now.Revocation(id)
	path, err := recordPath(d.record.Kind, d.record.ID)
	if !there || err != nil {
		return r
	}
	before, err := d.proofs.recordAt(plumbing.NewHash(e.Head), path)
	if err != nil {
		return r
	}
	had := map[string]bool{}
	for _, e := range before.Entries {
		had[e.ID] = true
	}
	r.saw = func(entry string) bool {
		return had[entry] || d.record.Kind == schema.ShopRecord && d.sight.Saw(id, entry)
	}
	return r
}
