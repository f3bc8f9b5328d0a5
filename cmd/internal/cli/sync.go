package cli

import (
	"context"
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
	"feedproof/cmd/internal/terminal"
	"feedproof/records"
	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/spf13/cobra"
	"golang.org/x/crypto/ssh"
)

// syncOptions are with whom records are exchanged, or what of the last
// exchanges is looked at instead.
type syncOptions struct {
	one               bool   // a remote is named
	remote            string // which
	remember, replace bool
	aside, drafts     bool
	adopt             string // a machine
}

func newSyncCommand(run func(context.Context, syncOptions) error) *cobra.Command {
	var o syncOptions
	c := &cobra.Command{
		Use: "sync [REMOTE]", Short: "exchange records with a stick, a folder or a server", Args: asUsed,
		Long: `Exchange records with another place: a folder or USB stick (no git program is
needed), ssh://, host:path, https:// or http://. What comes in is checked commit
by commit; what is right is merged, what is not is set aside with its reason,
and the exit code is 4. It may be broken off at any moment and run again.

For https with a user in the address, FEEDPROOF_PASSWORD is their password or
token. The first remote is remembered; --remember changes it.`,
		Example: "  feedproof sync /media/stick\n  feedproof sync git@office.example:shop.git --remember\n  feedproof sync --set-aside",
		RunE: func(c *cobra.Command, args []string) error {
			o.one, o.remote = len(args) == 1, strings.Join(args, "")
			return run(c.Context(), o)
		},
	}
	c.Flags().BoolVar(&o.remember, "remember", false, "go to this remote from now on when none is named")
	c.Flags().BoolVar(&o.drafts, "drafts", false, "list what other machines have written and not committed")
	c.Flags().StringVar(&o.adopt, "adopt", "", "take up the drafts of a machine that is gone, as they last came here")
	c.Flags().BoolVar(&o.replace, "replace", false, "put our line in place of a branch that was spoiled; a lead does this")
	c.Flags().BoolVar(&o.aside, "set-aside", false, "list what came in and was not taken, with the reason")
	return c
}

func runSync(ctx context.Context, d *desk.Desk, out *terminal.Screen, world outside, o syncOptions) error {
	switch {
	case o.aside:
		return showAside(d, out)
	case o.drafts:
		return showTravelled(d, out)
	case o.adopt != "":
		return adopt(d, out, o.adopt)
	}
	return exchange(ctx, d, out, world, o)
}

func exchange(ctx context.Context, d *desk.Desk, out *terminal.Screen, world outside, o syncOptions) error {
	device := d.Device()
	name := device.Remote
	if o.one {
		name = world.folder.remote(o.remote)
	}
	if name == "" {
		return wrong("feedproof sync FOLDER, or feedproof sync ssh://HOST/PATH", "sync: no remote is named, and none is remembered")
	}
	me, nobody := d.Who() // somebody who has just joined is not known before the first exchange
	key := func() (ssh.Signer, error) {
		if nobody != nil {
			return nil, nobody
		}
		return d.Key(me.Person)
	}
	reach := world.reach(d.KeyPath(device.Who))
	reach.By, reach.Key, reach.Replace = me.Person, key, o.replace
	if o.replace && !me.Has(schema.Lead) {
		return &desk.Error{Kind: desk.Refused, Wrong: "sync: only a lead puts the shop's line in place of another", Mend: "feedproof sync --replace --as LEAD"}
	}
	report, err := d.Sync(ctx, name, reach)
	if err != nil {
		return err
	}
	if device.Remote == "" || o.remember {
		device.Remote = withoutPassword(name)
		if err := d.Store().SetDevice(device); err != nil {
			return err
		}
	}
	if out.AsJSON() {
		if err := out.JSON(report); err != nil {
			return err
		}
	}
	out.Say("%s", syncLine(report))
	if report.Stayed != "" {
		out.Warn("drafts stay on this machine: %s", report.Stayed)
	}
	if o.replace { // the lead has seen it, and the next exchange says what is left
		return nil
	}
	return notTaken(report.Aside)
}

// notTaken is the failure of an exchange of which a part was set aside: all else is done.
func notTaken(aside []records.Aside) error {
	if len(aside) == 0 {
		return nil
	}
	return &desk.Error{
		Kind: desk.NotProven, Wrong: fmt.Sprintf("sync: %s set aside: %s; all else was exchanged", desk.Plural(len(aside), "line"), aside[0].Reason),
		Mend: "feedproof sync --set-aside, and show it to a lead",
	}
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

// reachFrom is how this machine gets to a remote: with keys from the ssh-agent, from the files, and from where OpenSSH keeps them.
func reachFrom(w World, out *terminal.Screen, files ...string) records.SyncOptions {
	if home, err := os.UserHomeDir(); err == nil {
		files = append(files, filepath.Join(home, ".ssh", "id_ed25519"), filepath.Join(home, ".ssh", "id_ecdsa"))
	}
	return records.SyncOptions{
		Now: w.Now, Progress: stages(out), Password: w.Getenv("FEEDPROOF_PASSWORD"),
		Identities: func() []ssh.Signer {
			signers, _ := signature.AgentKeys(w.Getenv("SSH_AUTH_SOCK")) // one way of several
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
func stages(out *terminal.Screen) func(what string, done, total int) {
	shown := map[string]func(done, total int){}
	return func(what string, done, total int) {
		show, known := shown[what]
		if !known {
			show = out.Progress(what)
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

func showAside(d *desk.Desk, out *terminal.Screen) error {
	lines, err := d.Store().SetAside()
	if err != nil {
		return err
	}
	if out.AsJSON() {
		return out.JSON(list(lines))
	}
	if len(lines) == 0 {
		out.Say("nothing was set aside")
		return nil
	}
	for _, a := range lines {
		out.Head("%s from %s, %s", a.Commit[:12], a.Remote, a.When.Local().Format(time.RFC3339))
		out.Say("  %s", a.Reason)
	}
	out.Say("where a branch was spoiled, the bays go on over lines of their own until a lead runs feedproof sync --replace")
	out.Say("none of it is in the records; to look at it: git -C %s/aside.git log -p refs/set-aside/COMMIT", d.Store().Dir())
	return nil
}

func showTravelled(d *desk.Desk, out *terminal.Screen) error {
	drafts, err := d.Store().TravelledDrafts()
	if err != nil {
		return err
	}
	if out.AsJSON() {
		return out.JSON(list(drafts))
	}
	if len(drafts) == 0 {
		out.Say("no other machine had drafts when it last synced")
		return nil
	}
	cars, err := d.Names()
	if err != nil {
		return err
	}
	var rows [][]string
	for _, draft := range drafts {
		for _, id := range slices.Sorted(maps.Keys(draft.Entries)) {
			name := id
			if i := slices.IndexFunc(cars, func(n audit.Name) bool { return n.ID == id }); i >= 0 {
				name = cars[i].Name
			}
			rows = append(rows, []string{draft.Device, name, desk.Plural(draft.Entries[id], "entry"), draft.By, draft.When.Local().Format(time.RFC3339)})
		}
	}
	out.Table([]string{"MACHINE", "CAR", "DRAFT", "SYNCED BY", "AT"}, rows)
	out.Say("if a machine is gone: feedproof sync --adopt MACHINE")
	return nil
}

// adoptJSON is what was taken up, as --json prints it.
type adoptJSON struct {
	Device  string `json:"device"`
	Entries int    `json:"entries"`
}

func adopt(d *desk.Desk, out *terminal.Screen, device string) error {
	n, err := d.Adopt(device)
	if err != nil {
		return failed("feedproof sync --drafts", "%v", err)
	}
	if out.AsJSON() {
		return out.JSON(adoptJSON{device, n})
	}
	out.Say("%s of %s are in the drafts of this machine now: look with feedproof check, then feedproof commit", desk.Plural(n, "entry"), device)
	return nil
}
