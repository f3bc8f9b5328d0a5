package cli

import (
	"fmt"
	"os"
	"strings"

	"feedproof/cmd/internal/desk"
	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/spf13/cobra"
	"golang.org/x/crypto/ssh"
)

func (a *app) personCommand() *cobra.Command {
	return group("person", "who is in the shop, with their keys", a.personAdd(), a.personList(), a.personKey(), a.personRevoke())
}

type personOptions struct {
	name, initials string
	roles          []string
	public         string
	passphrase     bool
}

func (a *app) personAdd() *cobra.Command {
	var o personOptions
	c := &cobra.Command{
		Use: "add ID", Short: "add a person and make their signing key; a lead does this", Args: takes("ID"),
		Example: `  feedproof person add tech-2 --name "Sam Reed" --role "fuel technician"`,
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.addPerson(args[0], o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.name, "name", "", "full name")
	f.StringVar(&o.initials, "initials", "", "initials (default: from the name)")
	f.StringSliceVar(&o.roles, "role", []string{string(schema.Technician)}, "roles: "+strings.Join(schema.Role("").Values(), ", "))
	keyFlags(c, &o.public, &o.passphrase)
	return c
}

func keyFlags(c *cobra.Command, public *string, passphrase *bool) {
	c.Flags().StringVar(public, "public", "", "their OpenSSH public key, made elsewhere: a file, or its line\n(default: make a key here)")
	c.Flags().BoolVar(passphrase, "passphrase", false, "ask for a passphrase for the new key")
}

func (s *session) addPerson(id string, o personOptions) error {
	if o.name == "" {
		return wrong(`feedproof person add `+id+` --name "Name"`, "--name: is missing")
	}
	roles, err := parseRoles(o.roles)
	if err != nil {
		return err
	}
	if o.initials == "" {
		o.initials = initials(o.name)
	}
	me, err := s.Who()
	if err != nil {
		return err
	}
	if err := s.May(me.Person, schema.PersonData{}.EntryKind()); err != nil {
		return err
	}
	roster, err := s.Roster()
	if err != nil {
		return err
	}
	if _, there := roster.Member(id); there {
		return failed("feedproof person list", "person %s: is in the roster already", id)
	}
	key, undo, err := s.keyFor(id, o.public, o.passphrase)
	if err != nil {
		return err
	}
	data := schema.PersonData{Person: id, Name: o.name, Initials: o.initials, Roles: roles, Key: signature.KeyLine(key)}
	said := fmt.Sprintf("person %s (%s): %s, key %s", id, o.name, joinRoles(roles), signature.Fingerprint(key))
	if err := s.put(schema.ShopRecord, s.shopID(), s.Now(), said, data); err != nil {
		undo()
		return err
	}
	return nil
}

// keyFor is the public key of a person: read from a file, or made here and
// taken back by undo when nothing comes of it.
func (s *session) keyFor(id, public string, passphrase bool) (key ssh.PublicKey, undo func(), err error) {
	if public != "" {
		key, err := s.publicKey(public)
		return key, func() {}, err
	}
	if !schema.ValidID(id) {
		return nil, nil, wrong("letters, digits, dots, dashes", "person %q: is not an id", id)
	}
	path := s.KeyPath(id)
	signer, err := s.newKey(path, id, passphrase)
	if err != nil {
		return nil, nil, err
	}
	return signer.PublicKey(), func() { _ = os.Remove(path) }, nil
}

// publicKey is an OpenSSH public key, typed or in a file.
func (s *session) publicKey(typed string) (ssh.PublicKey, error) {
	if key, err := signature.ParseKey(typed); err == nil {
		return key, nil
	}
	return readKey(s.path(typed))
}

func readKey(file string) (ssh.PublicKey, error) {
	line, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	return signature.ParseKey(string(line))
}

// newKey makes a key in a new file.
func (a *app) newKey(path, id string, passphrase bool) (ssh.Signer, error) {
	var secret []byte
	if passphrase {
		var err error
		if secret, err = a.passphrase("new passphrase for " + id); err != nil {
			return nil, err
		}
	}
	return signature.WriteKey(path, id, secret)
}

func parseRoles(names []string) ([]schema.Role, error) {
	var roles []schema.Role
	for _, n := range names {
		role, err := oneOf(n, schema.Role("").Values())
		if err != nil {
			return nil, wrong("feedproof person add --help", "--role: %v", err)
		}
		roles = append(roles, schema.Role(role))
	}
	return roles, nil
}

func joinRoles(roles []schema.Role) string {
	words := make([]string, len(roles))
	for i, r := range roles {
		words[i] = string(r)
	}
	return strings.Join(words, ", ")
}

// personLine is one person of the roster, as it is printed.
type personLine struct {
	Person   string        `json:"person"`
	Name     string        `json:"name"`
	Initials string        `json:"initials"`
	Roles    []schema.Role `json:"roles"`
	Keys     []string      `json:"keys"`
	Active   bool          `json:"active"`
}

func (a *app) personList() *cobra.Command {
	return &cobra.Command{
		Use: "list", Short: "list the roster", Args: takes(),
		RunE: func(*cobra.Command, []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.listPeople()
		},
	}
}

func (s *session) listPeople() error {
	roster, err := s.Roster()
	if err != nil {
		return err
	}
	var lines []personLine
	var rows [][]string
	for _, m := range roster.Members() {
		line := personLine{Person: m.Person, Name: m.Name, Initials: m.Initials, Roles: m.Roles, Keys: fingerprints(m), Active: m.Active()}
		state := "active"
		if !line.Active {
			state = "no key counts"
		}
		lines = append(lines, line)
		rows = append(rows, []string{m.Person, m.Initials, m.Name, joinRoles(m.Roles), state, s.shortKeys(line.Keys)})
	}
	if s.flags.json {
		return s.JSON(lines)
	}
	s.Table([]string{"ID", "INI", "NAME", "ROLES", "STATE", "KEY"}, rows)
	return nil
}

// shownOfKey is how much of a fingerprint a person compares on a screen.
const shownOfKey = 15

// shortKeys is the fingerprints whole in a pipe, and cut for a person.
func (s *session) shortKeys(keys []string) string {
	if !s.Terminal() {
		return strings.Join(keys, " ")
	}
	var out []string
	for _, k := range keys {
		print, rest, _ := strings.Cut(k, " ")
		out = append(out, desk.Joined(print[:min(len(print), shownOfKey)]+"...", rest))
	}
	return strings.Join(out, " ")
}

func fingerprints(m signature.Member) []string {
	var out []string
	for _, k := range m.Keys {
		text := signature.Fingerprint(k.Public)
		if k.Revoked > 0 {
			text += fmt.Sprintf(" (revoked at %d)", k.Revoked)
		}
		out = append(out, text)
	}
	return out
}

func (a *app) personKey() *cobra.Command {
	var public string
	var passphrase bool
	c := &cobra.Command{
		Use: "key PERSON", Short: "give a person another key, for another machine; a lead does this", Args: takes("PERSON"),
		RunE: func(_ *cobra.Command, args []string) error {
			return a.changeKey(args[0], func(s *session, m signature.Member) (schema.KeyData, func(), error) {
				key, undo, err := s.keyFor(m.Person, public, passphrase)
				if err != nil {
					return schema.KeyData{}, nil, err
				}
				return schema.KeyData{Person: m.Person, Action: "add", Key: signature.KeyLine(key)}, undo, nil
			})
		},
	}
	keyFlags(c, &public, &passphrase)
	return c
}

func (a *app) personRevoke() *cobra.Command {
	var why string
	c := &cobra.Command{
		Use: "revoke PERSON", Short: "revoke a person's keys; what they signed stays valid", Args: takes("PERSON"),
		RunE: func(_ *cobra.Command, args []string) error {
			if why == "" {
				return wrong("feedproof person revoke "+args[0]+` --why "left the shop"`, "--why: is missing")
			}
			return a.revoke(args[0], why)
		},
	}
	c.Flags().StringVar(&why, "why", "", "why")
	return c
}

func (a *app) changeKey(name string, make func(*session, signature.Member) (schema.KeyData, func(), error)) error {
	s, err := a.open()
	if err != nil {
		return err
	}
	m, err := s.Person(name)
	if err != nil {
		return err
	}
	data, undo, err := make(s, m)
	if err != nil {
		return err
	}
	said := fmt.Sprintf("person %s: has another key", m.Person)
	if err := s.put(schema.ShopRecord, s.shopID(), s.Now(), said, data); err != nil {
		undo()
		return err
	}
	return nil
}

func (a *app) revoke(name, why string) error {
	s, err := a.open()
	if err != nil {
		return err
	}
	m, err := s.Person(name)
	if err != nil {
		return err
	}
	var data []schema.Data
	for _, k := range m.Keys {
		if k.Revoked == 0 {
			data = append(data, schema.KeyData{Person: m.Person, Action: "revoke", Key: signature.KeyLine(k.Public), Why: why})
		}
	}
	if len(data) == 0 {
		return failed("feedproof person list", "person %s: has no key that counts", m.Person)
	}
	return s.put(schema.ShopRecord, s.shopID(), s.Now(), fmt.Sprintf("person %s: %d key(s) revoked", m.Person, len(data)), data...)
}
