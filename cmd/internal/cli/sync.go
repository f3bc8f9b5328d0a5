package cli

import (
	"fmt"
	"maps"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"feedproof/checklist/audit"
	"feedproof/cmd/internal/desk"
	"feedproof/records"
	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/spf13/cobra"
	"golang.org/x/crypto/ssh"
)

func (a *app) syncCommand() *cobra.Command {
	var remember, aside, drafts, replace bool
	var adopt string
	c := &cobra.Command{
		Use: "sync [REMOTE]", Short: "exchange records with a stick, a folder or a server", Args: cobra.MaximumNArgs(1),
		Long: `Exchange records with another place: a folder or USB stick (no git program is
needed), ssh://, host:path, https:// or http://. What comes in is checked commit
by commit; what is right is merged, what is not is set aside with its reason. It
may be broken off at any moment and run again.

For https with a user in the address, FEEDPROOF_PASSWORD is their password or
token. The first remote is remembered; --remember changes it.`,
		Example: "  feedproof sync /media/stick\n  feedproof sync git@office.example:shop.git --remember\n  feedproof sync --set-aside",
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			switch {
			case aside:
				return s.listAside()
			case drafts:
				return s.listDrafts()
			case adopt != "":
				return s.adopt(adopt)
			}
			return s.sync(args, remember, replace)
		},
	}
	c.Flags().BoolVar(&remember, "remember", false, "go to this remote from now on when none is named")
	c.Flags().BoolVar(&drafts, "drafts", false, "list what other machines have written and not committed")
	c.Flags().StringVar(&adopt, "adopt", "", "take up the drafts of a machine that is gone, as they last came here")
	c.Flags().BoolVar(&replace, "replace", false, "put our line in place of a branch that was spoiled; a lead does this")
	c.Flags().BoolVar(&aside, "set-aside", false, "list what came in and was not taken, with the reason")
	return c
}

func (s *session) sync(args []string, remember, replace bool) error {
	d := s.Device()
	name := d.Remote
	if len(args) > 0 {
		name = folder(s.Dir).remote(args[0])
	}
	if name == "" {
		return wrong("feedproof sync FOLDER, or feedproof sync ssh://HOST/PATH", "sync: no remote is named, and none is remembered")
	}
	me, nobody := s.Who() // somebody who has just joined is not known before the first exchange
	key := func() (ssh.Signer, error) {
		if nobody != nil {
			return nil, nobody
		}
		return s.Key(me.Person)
	}
	reach := s.reach(s.KeyPath(d.Who))
	reach.By, reach.Key, reach.Replace = me.Person, key, replace
	if replace && !me.Has(schema.Lead) {
		return &desk.Error{Kind: desk.Refused, Wrong: "sync: only a lead puts the shop's line in place of another", Mend: "feedproof sync --replace --as LEAD"}
	}
	report, err := s.Sync(s.asking.Context(), name, reach)
	if err != nil {
		return err
	}
	if d.Remote == "" || remember {
		d.Remote = withoutPassword(name)
		if err := s.Store().SetDevice(d); err != nil {
			return err
		}
	}
	if s.flags.json {
		return s.JSON(report)
	}
	s.Say("%s", syncLine(report))
	if report.Stayed != "" {
		s.Warn("drafts stay on this machine: %s", report.Stayed)
	}
	return nil
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
	if r.Kept > 0 {
		line += ", " + desk.Plural(r.Kept, "draft entry") + " kept there"
	}
	if n := len(r.Drafts); n > 0 {
		line += ", drafts of " + strings.Join(r.Drafts, " and ")
	}
	if n := len(r.Aside); n > 0 {
		line += fmt.Sprintf(", %s set aside: see feedproof sync --set-aside", desk.Plural(n, "line"))
	}
	return line
}

func counted(c records.Counted) string {
	if c.Entries == 0 {
		return "nothing"
	}
	return desk.Plural(c.Entries, "entry") + " in " + desk.Plural(c.Records, "record")
}

func (s *session) listAside() error {
	list, err := s.Store().SetAside()
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
	s.Say("where a branch was spoiled, the bays go on over lines of their own until a lead runs feedproof sync --replace")
	s.Say("none of it is in the records; to look at it: git -C %s/aside.git log -p refs/set-aside/COMMIT", s.Store().Dir())
	return nil
}

func (s *session) listDrafts() error {
	list, err := s.Store().TravelledDrafts()
	if err != nil || s.flags.json {
		return listJSON(s, list, err)
	}
	if len(list) == 0 {
		s.Say("no other machine had drafts when it last synced")
		return nil
	}
	cars, err := s.Names()
	if err != nil {
		return err
	}
	var rows [][]string
	for _, d := range list {
		for _, id := range slices.Sorted(maps.Keys(d.Entries)) {
			name := id
			if i := slices.IndexFunc(cars, func(n audit.Name) bool { return n.ID == id }); i >= 0 {
				name = cars[i].Name
			}
			rows = append(rows, []string{d.Device, name, desk.Plural(d.Entries[id], "entry"), d.By, d.When.Local().Format(time.RFC3339)})
		}
	}
	s.Table([]string{"MACHINE", "CAR", "DRAFT", "SYNCED BY", "AT"}, rows)
	s.Say("if a machine is gone: feedproof sync --adopt MACHINE")
	return nil
}

func (s *session) adopt(device string) error {
	n, err := s.Adopt(device)
	if err != nil {
		return failed("feedproof sync --drafts", "%v", err)
	}
	if s.flags.json {
		return s.JSON(map[string]any{"device": device, "entries": n})
	}
	s.Say("%s of %s are in the drafts of this machine now: look with feedproof check, then feedproof commit", desk.Plural(n, "entry"), device)
	return nil
}
