package cli

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/records"
	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/spf13/cobra"
	"golang.org/x/crypto/ssh"
)

// shopJoinOptions are a shop elsewhere, and who works on it here.
type shopJoinOptions struct {
	remote, dir                                    string
	fingerprint, person, name, device, bay, public string
	passphrase                                     bool
}

func newShopJoinCommand(run func(context.Context, shopJoinOptions) error) *cobra.Command {
	var o shopJoinOptions
	c := &cobra.Command{
		Use: "join REMOTE DIR", Short: "make this machine part of a shop that is at a remote", Args: asUsed,
		Long: `Copy a shop from a folder, stick or server, check its whole history, and make it
this machine's. The history must begin with the key that a lead names: they read
its fingerprint to you from feedproof verify. Without --fingerprint it is shown,
and nothing is made.

--person makes a key for somebody on this machine, or takes an OpenSSH public
key they have (--public); a lead then adds it.`,
		Example: "  feedproof shop join /media/stick ourshop --fingerprint SHA256:AAAA... --person sam",
		RunE: func(c *cobra.Command, args []string) error {
			o.remote, o.dir = args[0], args[1]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.fingerprint, "fingerprint", "", "fingerprint of the shop's first key, as a lead reads it to you")
	f.StringVar(&o.person, "person", "", "id of who works here; a key is made for them if they have none here")
	f.StringVar(&o.name, "name", "", "their name, for the lead's command")
	f.StringVar(&o.public, "public", "", "their OpenSSH public key, in a file, whose private half is in an ssh-agent")
	f.StringVar(&o.device, "device", "", "name of this machine (default: its host name)")
	f.StringVar(&o.bay, "bay", "", "bay this machine stands in")
	f.BoolVar(&o.passphrase, "passphrase", false, "ask for a passphrase for the new key")
	return c
}

func runShopJoin(ctx context.Context, at outside, out *terminal.Screen, o shopJoinOptions) error {
	remote, dir, device := at.remote(o.remote), at.path(o.dir), o.device
	if device == "" {
		device = hostID()
	}
	for _, id := range []string{device, o.person} {
		if id != "" && !schema.ValidID(id) {
			return wrong("letters, digits, dots, dashes", "shop join: %q is not an id", id)
		}
	}
	if o.fingerprint == "" {
		begins, err := records.Beginnings(ctx, remote, at.reach())
		if err != nil {
			return err
		}
		return wrong("have a lead read the first key to you, as feedproof verify shows it there; then type that: feedproof shop join REMOTE DIR --fingerprint SHA256:...",
			"%s: the shop there begins with key %s of %s (%s); nothing was made", remote, begins.Fingerprint, begins.Person, begins.Name)
	}
	shop, report, err := records.Join(ctx, remote, dir, records.JoinOptions{
		Fingerprint: o.fingerprint, Device: records.Device{Name: device, Bay: o.bay, Who: o.person, Remote: withoutPassword(remote)}, Reach: at.reach(),
	})
	if err != nil {
		return err
	}
	if out.AsJSON() {
		return out.JSON(report)
	}
	out.Say("joined the shop that begins with key %s, as you said", o.fingerprint)
	out.Say("%s, in %s", counted(report.Came), dir)
	if len(report.Aside) > 0 {
		out.Say("%s set aside: see feedproof sync --set-aside", desk.Plural(len(report.Aside), "line"))
	}
	if o.person == "" {
		return nil
	}
	return introduce(desk.At(shop, at.options), out, at.folder, o)
}

// introduce sees to it that a person can sign here, or says what a lead has to do.
func introduce(d *desk.Desk, out *terminal.Screen, in folder, o shopJoinOptions) error {
	roster, err := d.Roster()
	if err != nil {
		return err
	}
	m, known := roster.Member(o.person)
	if known {
		if _, err := d.Key(o.person); err == nil {
			out.Say("%s (%s) can sign here", m.Person, m.Name)
			return nil
		}
	}
	key, err := ownKey(d, in, o)
	if err != nil {
		return err
	}
	out.Say("%s cannot sign yet. A lead runs this on a machine that has the shop, then feedproof sync:", o.person)
	if known {
		typeThis(out, "feedproof person key %s --public %q", o.person, signature.KeyLine(key))
	} else {
		name := o.name
		if name == "" {
			name = "THEIR NAME"
		}
		typeThis(out, "feedproof person add %s --name %q --role %q --public %q", o.person, name, schema.Technician, signature.KeyLine(key))
	}
	out.Say("compare the fingerprint there: %s", signature.Fingerprint(key))
	return nil
}

// ownKey is the public key that a person named, or of one made here, which is
// written beside it.
func ownKey(d *desk.Desk, in folder, o shopJoinOptions) (ssh.PublicKey, error) {
	if o.public != "" {
		return readKey(in.path(o.public))
	}
	key, _, err := d.NewKey(o.person, o.passphrase)
	if err != nil {
		return nil, err
	}
	return key, os.WriteFile(filepath.Join(d.Store().KeysDir(), o.person+".pub"), []byte(signature.KeyLine(key)+"\n"), 0o644)
}

// typeThis prints a command on one line, to be copied.
func typeThis(out *terminal.Screen, format string, args ...any) {
	fmt.Fprintf(out.Out, "  "+format+"\n", args...)
}
