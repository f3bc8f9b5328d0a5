package cli

import (
	"context"
	"fmt"
	"os"
	"strings"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/spf13/cobra"
	"golang.org/x/crypto/ssh"
)

func newPersonCommand(below ...*cobra.Command) *cobra.Command {
	c := group("person", "who is in the shop, with their keys", below...)
	c.Example = "  feedproof person add tech-1 --name \"Sam Reed\" --role \"fuel technician\"\n  feedproof person list"
	return c
}

// personAddOptions are somebody who comes into the shop.
type personAddOptions struct {
	person, name, initials string
	roles                  []string
	key                    keyOptions
}

// keyOptions are where a key comes from.
type keyOptions struct {
	public     string // a file, or its line; none: a key is made here
	passphrase bool
}

func newPersonAddCommand(run func(context.Context, personAddOptions) error) *cobra.Command {
	var o personAddOptions
	c := &cobra.Command{
		Use: "add ID", Short: "add a person and make their signing key; a lead does this", Args: asUsed,
		Example: `  feedproof person add tech-2 --name "Sam Reed" --role "fuel technician"`,
		RunE: func(c *cobra.Command, args []string) error {
			o.person = args[0]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.name, "name", "", "full name")
	f.StringVar(&o.initials, "initials", "", "initials (default: from the name)")
	f.StringSliceVar(&o.roles, "role", []string{string(schema.Technician)}, "roles: "+strings.Join(schema.Role("").Values(), ", "))
	keyFlags(c, &o.key)
	return c
}

func keyFlags(c *cobra.Command, o *keyOptions) {
	c.Flags().StringVar(&o.public, "public", "", "their OpenSSH public key, made elsewhere: a file, or its line\n(default: make a key here)")
	c.Flags().BoolVar(&o.passphrase, "passphrase", false, "ask for a passphrase for the new key")
}

func runPersonAdd(ctx context.Context, d *desk.Desk, out *terminal.Screen, in folder, o personAddOptions) error {
	if o.name == "" {
		return wrong(`feedproof person add `+o.person+` --name "Name"`, "--name: is missing")
	}
	roles, err := parseRoles(o.roles)
	if err != nil {
		return err
	}
	short := o.initials
	if short == "" {
		short = initials(o.name)
	}
	if err := d.MayEnrol(o.person); err != nil {
		return err
	}
	key, undo, err := keyFor(d, in, o.person, o.key)
	if err != nil {
		return err
	}
	data := schema.PersonData{Person: o.person, Name: o.name, Initials: short, Roles: roles, Key: signature.KeyLine(key)}
	said := fmt.Sprintf("person %s (%s): %s, key %s", o.person, o.name, joinRoles(roles), signature.Fingerprint(key))
	if err := putOwn(ctx, d, out, said, data); err != nil {
		undo()
		return err
	}
	return nil
}

// keyFor is the public key of a person: as typed, from a file, or made here and
// taken back by undo when nothing comes of it.
func keyFor(d *desk.Desk, in folder, person string, o keyOptions) (key ssh.PublicKey, undo func(), err error) {
	if o.public == "" {
		return d.NewKey(person, o.passphrase)
	}
	if key, err = signature.ParseKey(o.public); err != nil {
		key, err = readKey(in.path(o.public))
	}
	return key, func() {}, err
}

func readKey(file string) (ssh.PublicKey, error) {
	line, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	return signature.ParseKey(string(line))
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

func newPersonListCommand(run func(context.Context, noOptions) error) *cobra.Command {
	return &cobra.Command{
		Use: "list", Short: "list the roster", Args: asUsed,
		Example: "  feedproof person list",
		RunE:    func(c *cobra.Command, _ []string) error { return run(c.Context(), noOptions{}) },
	}
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

func runPersonList(_ context.Context, d *desk.Desk, out *terminal.Screen, _ noOptions) error {
	roster, err := d.Roster()
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
		rows = append(rows, []string{m.Person, m.Initials, m.Name, joinRoles(m.Roles), state, shortKeys(out, line.Keys)})
	}
	if out.AsJSON() {
		return out.JSON(lines)
	}
	out.Table([]string{"ID", "INI", "NAME", "ROLES", "STATE", "KEY"}, rows)
	return nil
}

// shownOfKey is how much of a fingerprint a person compares on a screen.
const shownOfKey = 15

// shortKeys is the fingerprints whole in a pipe, and cut for a person.
func shortKeys(out *terminal.Screen, keys []string) string {
	if !out.Terminal() {
		return strings.Join(keys, " ")
	}
	var short []string
	for _, k := range keys {
		print, rest, _ := strings.Cut(k, " ")
		short = append(short, desk.Joined(print[:min(len(print), shownOfKey)]+"...", rest))
	}
	return strings.Join(short, " ")
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

// personKeyOptions are another key of a person.
type personKeyOptions struct {
	person string
	key    keyOptions
}

func newPersonKeyCommand(run func(context.Context, personKeyOptions) error) *cobra.Command {
	var o personKeyOptions
	c := &cobra.Command{
		Use: "key PERSON", Short: "give a person another key, for another machine; a lead does this", Args: asUsed,
		Example: "  feedproof person key tech-1",
		RunE: func(c *cobra.Command, args []string) error {
			o.person = args[0]
			return run(c.Context(), o)
		},
	}
	keyFlags(c, &o.key)
	return c
}

func runPersonKey(ctx context.Context, d *desk.Desk, out *terminal.Screen, in folder, o personKeyOptions) error {
	m, err := d.Person(o.person)
	if err != nil {
		return err
	}
	key, undo, err := keyFor(d, in, m.Person, o.key)
	if err != nil {
		return err
	}
	data := schema.KeyData{Person: m.Person, Action: "add", Key: signature.KeyLine(key)}
	if err := putOwn(ctx, d, out, fmt.Sprintf("person %s: has another key", m.Person), data); err != nil {
		undo()
		return err
	}
	return nil
}

// personRevokeOptions are whose keys count no longer.
type personRevokeOptions struct{ person, why string }

func newPersonRevokeCommand(run func(context.Context, personRevokeOptions) error) *cobra.Command {
	var o personRevokeOptions
	c := &cobra.Command{
		Use: "revoke PERSON", Short: "revoke a person's keys; what they signed stays valid", Args: asUsed,
		Example: `  feedproof person revoke tech-1 --why "left the shop"`,
		RunE: func(c *cobra.Command, args []string) error {
			o.person = args[0]
			return run(c.Context(), o)
		},
	}
	c.Flags().StringVar(&o.why, "why", "", "why")
	return c
}

func runPersonRevoke(ctx context.Context, d *desk.Desk, out *terminal.Screen, o personRevokeOptions) error {
	if o.why == "" {
		return wrong("feedproof person revoke "+o.person+` --why "left the shop"`, "--why: is missing")
	}
	m, err := d.Person(o.person)
	if err != nil {
		return err
	}
	var data []schema.Data
	for _, k := range m.Keys {
		if k.Revoked == 0 {
			data = append(data, schema.KeyData{Person: m.Person, Action: "revoke", Key: signature.KeyLine(k.Public), Why: o.why})
		}
	}
	if len(data) == 0 {
		return failed("feedproof person list", "person %s: has no key that counts", m.Person)
	}
	return putOwn(ctx, d, out, fmt.Sprintf("person %s: %d key(s) revoked", m.Person, len(data)), data...)
}
