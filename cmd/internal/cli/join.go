package cli

import (
	"fmt"
	"os"
	"path/filepath"

	"feedproof/cmd/internal/desk"
	"feedproof/records"
	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

type joinOptions struct {
	fingerprint, person, name, device, bay, public string
	passphrase                                     bool
}

func (a *app) shopJoin() *cobra.Command {
	var o joinOptions
	c := &cobra.Command{
		Use: "join REMOTE DIR", Short: "make this machine part of a shop that is at a remote", Args: takes("REMOTE", "DIR"),
		Long: `Copy a shop from a folder, stick or server, check its whole history, and make it
this machine's. The history must begin with the key that a lead names: they read
its fingerprint to you from feedproof verify. Without --fingerprint it is shown,
and nothing is made.

--person makes a key for somebody on this machine, or takes an OpenSSH public
key they have (--public); a lead then adds it.`,
		Example: "  feedproof shop join /media/stick ourshop --fingerprint SHA256:AAAA... --person sam",
		RunE: func(_ *cobra.Command, args []string) error {
			return a.join(a.remoteName(args[0]), a.path(args[1]), o)
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

func (a *app) join(remote, dir string, o joinOptions) error {
	ctx := a.asking.Context()
	if o.device == "" {
		o.device = hostID()
	}
	for _, id := range []string{o.device, o.person} {
		if id != "" && !schema.ValidID(id) {
			return wrong("letters, digits, dots, dashes", "shop join: %q is not an id", id)
		}
	}
	if o.fingerprint == "" {
		begins, err := records.Beginnings(ctx, remote, a.reach())
		if err != nil {
			return err
		}
		return wrong("have a lead read the first key to you, as feedproof verify shows it there; then type that: feedproof shop join REMOTE DIR --fingerprint SHA256:...",
			"%s: the shop there begins with key %s of %s (%s); nothing was made", remote, begins.Fingerprint, begins.Person, begins.Name)
	}
	shop, report, err := records.Join(ctx, remote, dir, records.JoinOptions{
		Fingerprint: o.fingerprint, Device: records.Device{Name: o.device, Bay: o.bay, Who: o.person, Remote: withoutPassword(remote)}, Reach: a.reach(),
	})
	if err != nil {
		return err
	}
	if a.flags.json {
		return a.JSON(report)
	}
	a.Say("joined the shop that begins with key %s, as you said", o.fingerprint)
	a.Say("%s, in %s", counted(report.Came), dir)
	if len(report.Aside) > 0 {
		a.Say("%s set aside: see feedproof sync --set-aside", desk.Plural(len(report.Aside), "line"))
	}
	if o.person == "" {
		return nil
	}
	s := &session{a, desk.At(shop, a.deskOptions())}
	return s.introduce(o)
}

// introduce sees to it that a person can sign here, or says what a lead has to do.
func (s *session) introduce(o joinOptions) error {
	roster, err := s.Roster()
	if err != nil {
		return err
	}
	m, known := roster.Member(o.person)
	if known {
		if _, err := s.Key(o.person); err == nil {
			s.Say("%s (%s) can sign here", m.Person, m.Name)
			return nil
		}
	}
	public := o.public
	if public == "" {
		key, err := s.newKey(s.KeyPath(o.person), o.person, o.passphrase)
		if err != nil {
			return err
		}
		public = filepath.Join(s.Store().KeysDir(), o.person+".pub")
		if err := os.WriteFile(public, []byte(signature.KeyLine(key.PublicKey())+"\n"), 0o644); err != nil {
			return err
		}
	}
	line, err := readKey(s.path(public))
	if err != nil {
		return err
	}
	s.Say("%s cannot sign yet. A lead runs this on a machine that has the shop, then feedproof sync:", o.person)
	if known {
		s.typeThis("feedproof person key %s --public %q", o.person, signature.KeyLine(line))
	} else {
		name := o.name
		if name == "" {
			name = "THEIR NAME"
		}
		s.typeThis("feedproof person add %s --name %q --role %q --public %q", o.person, name, schema.Technician, signature.KeyLine(line))
	}
	s.Say("compare the fingerprint there: %s", signature.Fingerprint(line))
	return nil
}

// typeThis prints a command on one line, to be copied.
func (a *app) typeThis(format string, args ...any) {
	fmt.Fprintf(a.Screen.Out, "  "+format+"\n", args...)
}

func hostID() string {
	host, _ := os.Hostname()
	return idFrom(host)
}
