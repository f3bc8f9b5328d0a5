package desk

import (
	"fmt"
	"os"

	"feedproof/records/signature"
	"feedproof/schema"

	"golang.org/x/crypto/ssh"
)

// MayEnrol is asked before a key is made: that who acts may add people, and that
// this one is not there yet.
func (d *Desk) MayEnrol(person string) error {
	me, err := d.Who()
	if err != nil {
		return err
	}
	if err := d.May(me.Person, schema.PersonData{}.EntryKind()); err != nil {
		return err
	}
	roster, err := d.Roster()
	if err != nil {
		return err
	}
	if _, there := roster.Member(person); there {
		return failed("feedproof person list", "person "+person, "is in the roster already")
	}
	return nil
}

// NewKey makes a signing key for a person on this machine, under a passphrase
// that is asked for when it is to be protected. undo takes the key away again,
// when nothing comes of it.
func (d *Desk) NewKey(person string, protected bool) (key ssh.PublicKey, undo func(), err error) {
	if !schema.ValidID(person) {
		return nil, nil, usage("letters, digits, dots, dashes", fmt.Sprintf("person %q", person), "is not an id")
	}
	var secret []byte
	if protected {
		if secret, err = d.secret("new passphrase for " + person); err != nil {
			return nil, nil, err
		}
	}
	path := d.KeyPath(person)
	signer, err := signature.WriteKey(path, person, secret)
	if err != nil {
		return nil, nil, err
	}
	return signer.PublicKey(), func() { _ = os.Remove(path) }, nil
}
