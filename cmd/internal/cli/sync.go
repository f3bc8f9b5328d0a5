package cli

import (
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"feedproof/records"
	"feedproof/records/signature"

	"github.com/spf13/cobra"
	"golang.org/x/crypto/ssh"
)

func (a *app) syncCommand() *cobra.Command {
	var remember, aside bool
	c := &cobra.Command{
		Use: "sync [REMOTE]", Short: "exchange records with a stick, a folder or a server", Args: cobra.MaximumNArgs(1),
		Long: `Exchange records with another place: a folder or USB stick (no git program is
needed), ssh://, host:path, https:// or http://. What comes in is checked commit
by commit; what is right is merged, what is not is set aside with its reason. It
may be broken off at any moment and run again.

The first remote is remembered; --remember changes it.`,
		Example: "  feedproof sync /media/stick\n  feedproof sync git@office.example:shop.git --remember\n  feedproof sync --set-aside",
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			if aside {
				return s.listAside()
			}
			return s.sync(args, remember)
		},
	}
	c.Flags().BoolVar(&remember, "remember", false, "go to this remote from now on when none is named")
	c.Flags().BoolVar(&aside, "set-aside", false, "list what came in and was not taken, with the reason")
	return c
}

func (s *session) sync(args []string, remember bool) error {
	d := s.shop.Device()
	name := d.Remote
	if len(args) > 0 {
		name = s.remoteName(args[0])
	}
	if name == "" {
		return wrong("feedproof sync FOLDER, or feedproof sync ssh://HOST/PATH", "sync: no remote is named, and none is remembered")
	}
	me, nobody := s.who() // somebody who has just joined is not known before the first exchange
	key := func() (ssh.Signer, error) {
		if nobody != nil {
			return nil, nobody
		}
		return s.key(me.Person)
	}
	reach := s.reach(keyPath(s.shop, d.Who))
	reach.By, reach.Key = me.Person, key
	report, err := s.shop.Sync(s.asking.Context(), name, reach)
	if err != nil {
		return err
	}
	if d.Remote == "" || remember {
		d.Remote = withoutPassword(name)
		if err := s.shop.SetDevice(d); err != nil {
			return err
		}
	}
	if s.flags.json {
		return s.JSON(report)
	}
	s.Say("%s", syncLine(report))
	return nil
}

// remoteName is a remote as it is kept: a folder by its whole path.
func (a *app) remoteName(typed string) string {
	if records.IsFolder(typed) && !strings.Contains(typed, "://") {
		return a.path(typed)
	}
	return typed
}

// withoutPassword is what may be kept of an address.
func withoutPassword(name string) string {
	u, err := url.Parse(name)
	if err != nil || u.User == nil {
		return name
	}
	u.User = url.User(u.User.Username())
	return u.String()
}

// reach is how this machine gets to a remote: with keys from the ssh-agent, from the files, and from where OpenSSH keeps them.
func (a *app) reach(files ...string) records.SyncOptions {
	if home, err := os.UserHomeDir(); err == nil {
		files = append(files, filepath.Join(home, ".ssh", "id_ed25519"), filepath.Join(home, ".ssh", "id_ecdsa"))
	}
	return records.SyncOptions{
		Now: a.Now, Progress: a.stages(), Password: a.Getenv("FEEDPROOF_PASSWORD"),
		Identities: func() []ssh.Signer {
			signers, _ := signature.AgentKeys(a.Getenv("SSH_AUTH_SOCK")) // one way of several
			for _, file := range files {
				if key, err := signature.LoadKey(file, nil); err == nil {
					signers = append(signers, key)
				}
			}
			return signers
		},
	}
}

// stages shows each stage of a long exchange.
func (a *app) stages() func(what string, done, total int) {
	shown := map[string]func(done, total int){}
	return func(what string, done, total int) {
		show, known := shown[what]
		if !known {
			show = a.Progress(what)
			shown[what] = show
		}
		if show != nil {
			show(done, total)
		}
	}
}

// syncLine says in one line what an exchange did.
func syncLine(r records.SyncReport) string {
	line := fmt.Sprintf("%s: came %s, went %s", records.Redacted(r.Remote), counted(r.Came), counted(r.Went))
	if r.Merged {
		line += ", merged"
	}
	if n := len(r.Aside); n > 0 {
		line += fmt.Sprintf(", %s set aside: see feedproof sync --set-aside", plural(n, "line"))
	}
	return line
}

func counted(c records.Counted) string {
	if c.Entries == 0 {
		return "nothing"
	}
	return plural(c.Entries, "entry") + " in " + plural(c.Records, "record")
}

func (s *session) listAside() error {
	list, err := s.shop.SetAside()
	if err != nil || s.flags.json {
		return listJSON(s, list, err)
	}
	if len(list) == 0 {
		s.Say("nothing was set aside")
		return nil
	}
	for _, a := range list {
		s.Head("%s from %s, %s", a.Commit[:12], a.Remote, a.When.Local().Format(time.RFC3339))
		s.Say("  %s", a.Reason)
	}
	s.Say("none of it is in the records; to look at it: git -C %s/aside.git log -p refs/set-aside/COMMIT", s.shop.Dir())
	return nil
}

// syncTrouble turns what went wrong with a remote into its mending.
func syncTrouble(err error) (fix string, exit int, ok bool) {
	var remote *records.RemoteError
	var key *records.WrongKeyError
	switch {
	case errors.As(err, &key):
		return "do not go on: ask a lead for the fingerprint (feedproof verify shows it), and how this remote came by another", exitNotProven, true
	case errors.As(err, &remote):
		return remote.Fix, exitFailed, true
	}
	return "", 0, false
}
