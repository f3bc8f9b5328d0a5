package cli

import (
	"errors"
	"os"
	"path/filepath"
	"strings"

	"feedproof/records"
	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

func (a *app) shopCommand() *cobra.Command {
	return group("shop", "make a shop, join one, keep it small", a.shopNew(), a.shopJoin(), a.shopTidy())
}

type shopNewOptions struct {
	lead, id, device, bay string
	passphrase            bool
}

func (a *app) shopNew() *cobra.Command {
	var o shopNewOptions
	c := &cobra.Command{
		Use: "new DIR", Short: "make a new shop with its first lead", Args: takes("DIR"),
		Example: `  feedproof shop new ourshop --lead "Robin Vale"`,
		RunE:    func(_ *cobra.Command, args []string) error { return a.newShop(a.path(args[0]), o) },
	}
	f := c.Flags()
	f.StringVar(&o.lead, "lead", "", "name of the first lead")
	f.StringVar(&o.id, "id", "", "short id of the lead (default: from the name)")
	f.StringVar(&o.device, "device", "", "name of this machine (default: its host name)")
	f.StringVar(&o.bay, "bay", "", "bay this machine stands in")
	f.BoolVar(&o.passphrase, "passphrase", false, "ask for a passphrase for the lead's key")
	return c
}

func (a *app) newShop(dir string, o shopNewOptions) error {
	if o.lead == "" {
		return wrong(`feedproof shop new DIR --lead "Name"`, "--lead: a shop needs a lead")
	}
	if o.id == "" {
		o.id = idFrom(o.lead)
	}
	if o.device == "" {
		o.device = hostID()
	}
	if !schema.ValidID(o.id) || !schema.ValidID(o.device) {
		return wrong("letters, digits, dots, dashes", "shop new: %q or %q is not an id", o.id, o.device)
	}
	if _, err := records.Open(dir); err == nil {
		return failed("feedproof --shop "+dir, "%s: is a shop already", dir)
	}
	keys := filepath.Join(dir, "keys")
	if err := os.MkdirAll(keys, 0o700); err != nil {
		return err
	}
	key, err := a.newKey(filepath.Join(keys, o.id), o.id, o.passphrase)
	if err != nil {
		return err
	}
	shop, err := records.Create(dir, records.CreateOptions{
		ID: schema.NewID(a.Now()), Key: key, Now: a.Now,
		Lead:   schema.PersonData{Person: o.id, Name: o.lead, Initials: initials(o.lead), Roles: []schema.Role{schema.Lead}},
		Device: records.Device{Name: o.device, Bay: o.bay},
	})
	if err != nil {
		return errors.Join(err, os.Remove(filepath.Join(keys, o.id)))
	}
	if a.flags.json {
		return a.JSON(map[string]string{"shop": dir, "lead": o.id, "key": signature.Fingerprint(key.PublicKey()), "device": o.device})
	}
	a.Say("shop made in %s", dir)
	a.Say("lead %s (%s), key %s", o.id, o.lead, signature.Fingerprint(key.PublicKey()))
	a.Say("private keys stay in %s: keep a copy where only their owner reads it", shop.KeysDir())
	return nil
}

// initials of a name: "RV".
func initials(name string) string {
	var out strings.Builder
	for _, part := range strings.Fields(name) {
		out.WriteString(strings.ToUpper(string([]rune(part)[:1])))
	}
	return out.String()
}

// idFrom makes an id out of a name: "robin-vale".
func idFrom(name string) string {
	clean := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			return r
		case strings.ContainsRune(" -_.", r):
			return '-'
		}
		return -1
	}, strings.ToLower(name))
	clean = strings.Trim(clean, "-")
	if !schema.ValidID(clean) {
		return "one"
	}
	return clean
}
