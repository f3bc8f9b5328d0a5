package desk

import (
	"fmt"
	"os"

	"feedproof/records/signature"
	"feedproof/schema"

	"golang.org/x/crypto/ssh"
)

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
