package desk

import (
	"os"
	"path/filepath"
	"strings"

	"feedproof/records/signature"
	"feedproof/schema"

	"golang.org/x/crypto/ssh"
)

// Roster is who is in the shop.
func (d *Desk) Roster() (signature.Roster, error) {
	own, err := d.Own()
	if err != nil {
		return signature.Roster{}, err
	}
	return signature.NewRoster(own), nil
}

// Who is the person at work: the one named, or who is on this machine.
func (d *Desk) Who() (signature.Member, error) {
	name := d.options.As
	if name == "" {
		name = d.Device().Who
	}
	if name == "" {
		return signature.Member{}, usage("feedproof use PERSON, or --as PERSON", "", "nobody is on this machine")
	}
	return d.Person(name)
}

// Person finds somebody of the roster by id, initials, name or the start of one.
func (d *Desk) Person(name string) (signature.Member, error) {
	roster, err := d.Roster()
	if err != nil {
		return signature.Member{}, err
	}
	members := roster.Members()
	i, err := Pick("person", name, members, func(m signature.Member) []string { return []string{m.Person, m.Initials, m.Name} })
	if err != nil {
		return signature.Member{}, err
	}
	return members[i], nil
}

// May checks early what the commit would check again: whether a person may
// write a kind of entry.
func (d *Desk) May(person, kind string) error {
	roster, err := d.Roster()
	if err != nil {
		return err
	}
	if err := roster.May(person, kind); err != nil {
		return &Error{Wrong: err.Error(), Mend: "ask one of: " + strings.Join(leads(roster), ", "), Kind: Refused, Cause: err}
	}
	return nil
}

func leads(roster signature.Roster) []string {
	var out []string
	for _, m := range roster.Members() {
		if m.Active() && m.Has(schema.Lead) {
			out = append(out, m.Person)
		}
	}
	return out
}

// KeyPath is where this machine keeps a person's private key.
func (d *Desk) KeyPath(person string) string { return filepath.Join(d.shop.KeysDir(), person) }

// Key is a person's signing key on this machine, in its file or in the
// ssh-agent.
func (d *Desk) Key(person string) (ssh.Signer, error) {
	key, err := signature.LoadKey(d.KeyPath(person), func() ([]byte, error) { return d.secret("passphrase of " + person) })
	if os.IsNotExist(err) {
		if key, err := d.agentKey(person); err == nil {
			return key, nil
		}
		return nil, failed("run this on their machine, or ask a lead: feedproof person key "+person, "person "+person, "has no key on this machine")
	}
	return key, err
}

// secret asks for a passphrase. That may take minutes, so the shop is looked at
// again afterwards.
func (d *Desk) secret(what string) ([]byte, error) {
	defer d.forget()
	if d.options.Secret == nil {
		return nil, failed("run it on a terminal", what, "there is nobody to ask")
	}
	return d.options.Secret(what)
}

// agentKey is a person's key in the ssh-agent of this machine.
func (d *Desk) agentKey(person string) (ssh.Signer, error) {
	roster, err := d.Roster()
	if err != nil {
		return nil, err
	}
	m, _ := roster.Member(person)
	var keys []ssh.PublicKey
	for _, k := range m.Keys {
		if k.Revoked == 0 {
			keys = append(keys, k.Public)
		}
	}
	return signature.AgentKey(d.options.Agent, keys...)
}
