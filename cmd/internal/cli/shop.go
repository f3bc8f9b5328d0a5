package cli

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"

	"feedproof/cmd/internal/terminal"
	"feedproof/records"
	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/spf13/cobra"
	"golang.org/x/crypto/ssh"
)

func newShopCommand(below ...*cobra.Command) *cobra.Command {
	c := group("shop", "make a shop, join one, keep it small", below...)
	c.Example = `  feedproof shop new myshop --lead "Robin Vale" --id lead-1`
	return c
}

// shopNewOptions are a shop that is to be made.
type shopNewOptions struct {
	dir, lead, id, device, bay string
	passphrase                 bool
}

func newShopNewCommand(run func(context.Context, shopNewOptions) error) *cobra.Command {
	var o shopNewOptions
	c := &cobra.Command{
		Use: "new DIR", Short: "make a new shop with its first lead", Args: asUsed,
		Example: `  feedproof shop new ourshop --lead "Robin Vale"`,
		RunE: func(c *cobra.Command, args []string) error {
			o.dir = args[0]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.lead, "lead", "", "name of the first lead")
	f.StringVar(&o.id, "id", "", "short id of the lead (default: from the name)")
	f.StringVar(&o.device, "device", "", "name of this machine (default: its host name)")
	f.StringVar(&o.bay, "bay", "", "bay this machine stands in")
	f.BoolVar(&o.passphrase, "passphrase", false, "ask for a passphrase for the lead's key")
	return c
}

// shopNewJSON is what a new shop answers with --json.
type shopNewJSON struct {
	Device string `json:"device"`
	Key    string `json:"key"` // fingerprint of the lead's
	Lead   string `json:"lead"`
	Shop   string `json:"shop"`
}

func runShopNew(_ context.Context, at outside, out *terminal.Screen, o shopNewOptions) error {
	dir := at.path(o.dir)
	if o.lead == "" {
		return wrong(`feedproof shop new DIR --lead "Name"`, "--lead: a shop needs a lead")
	}
	id, device := o.id, o.device
	if id == "" {
		id = idFrom(o.lead)
	}
	if device == "" {
		device = hostID()
	}
	if !schema.ValidID(id) || !schema.ValidID(device) {
		return wrong("letters, digits, dots, dashes", "shop new: %q or %q is not an id", id, device)
	}
	if _, err := records.Open(dir); err == nil {
		return failed("feedproof --shop "+dir, "%s: is a shop already", dir)
	}
	key, err := firstKey(at, dir, id, o.passphrase)
	if err != nil {
		return err
	}
	shop, err := records.Create(dir, records.CreateOptions{
		ID: schema.NewID(at.options.Now()), Key: key, Now: at.options.Now,
		Lead:   schema.PersonData{Person: id, Name: o.lead, Initials: initials(o.lead), Roles: []schema.Role{schema.Lead}},
		Device: records.Device{Name: device, Bay: o.bay},
	})
	if err != nil {
		return errors.Join(err, os.Remove(firstKeyFile(dir, id)))
	}
	print := signature.Fingerprint(key.PublicKey())
	if out.AsJSON() {
		return out.JSON(shopNewJSON{Device: device, Key: print, Lead: id, Shop: dir})
	}
	out.Say("shop made in %s", dir)
	out.Say("lead %s (%s), key %s", id, o.lead, print)
	out.Say("private keys stay in %s: keep a copy where only their owner reads it", shop.KeysDir())
	return nil
}

func firstKeyFile(dir, id string) string { return filepath.Join(dir, "keys", id) }

// firstKey makes the key of the first lead, where the shop will look for it.
func firstKey(at outside, dir, id string, passphrase bool) (ssh.Signer, error) {
	file := firstKeyFile(dir, id)
	if err := os.MkdirAll(filepath.Dir(file), 0o700); err != nil {
		return nil, err
	}
	var secret []byte
	if passphrase {
		var err error
		if secret, err = at.options.Secret("new passphrase for " + id); err != nil {
			return nil, err
		}
	}
	return signature.WriteKey(file, id, secret)
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

// hostID is the name of this machine as an id.
func hostID() string {
	host, _ := os.Hostname()
	return idFrom(host)
}
