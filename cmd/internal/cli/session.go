package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/records"
	"feedproof/schema"
)

// session is a desk with its screen, for the commands that are not plain
// functions of both yet.
type session struct {
	*app
	*desk.Desk
}

// sessionAt is a desk with its screen alone.
func sessionAt(d *desk.Desk, out *terminal.Screen) *session { return &session{&app{Screen: out}, d} }

// Now is the desk's clock.
func (s *session) Now() time.Time { return s.Desk.Now() }

func (a *app) open() (*session, error) {
	d, err := a.openDesk()
	if err != nil {
		return nil, err
	}
	return &session{a, d}, nil
}

// openDesk finds and opens the shop: --shop, FEEDPROOF_SHOP, or by walking up.
func (a *app) openDesk() (*desk.Desk, error) {
	dir := firstOf(a.flags.shop, a.Getenv("FEEDPROOF_SHOP"))
	if dir == "" {
		found, err := records.Find(a.Dir)
		if err != nil {
			return nil, failed(`feedproof shop new DIR --lead "Name", or --shop DIR`, "%s: is not in a shop", a.Dir)
		}
		dir = found
	}
	d, err := desk.Open(a.path(dir), a.deskOptions())
	if err != nil {
		return nil, err
	}
	return d, a.tellCopy(d)
}

func (a *app) deskOptions() desk.Options {
	return desk.Options{
		Now: a.Now, As: firstOf(a.flags.as, a.Getenv("FEEDPROOF_AS")), Agent: a.Getenv("SSH_AUTH_SOCK"), Program: program,
		Secret: a.passphrase, Progress: a.Progress, Warn: a.Warn,
	}
}

// tellCopy says on a terminal how the whole of a copy is proved.
func (a *app) tellCopy(d *desk.Desk) error {
	who, commit, isCopy, err := d.CopySigner()
	if err == nil && isCopy && a.Terminal() {
		a.Warn("copy for reading, up to commit %.12s, which %s (%s) signed; feedproof verify proves the whole of it", commit, who.Person, who.Name)
	}
	return err
}

// program names this build, so that another one gathers anew: its file as it
// was installed, and its version.
func program() string {
	path, err := os.Executable()
	if err != nil {
		return version()
	}
	info, err := os.Stat(path)
	if err != nil {
		return version()
	}
	return fmt.Sprintf("%s %d %d", version(), info.Size(), info.ModTime().UnixNano())
}

// folder is where a command was typed.
type folder string

// path is a file or folder as typed, from there.
func (f folder) path(name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(string(f), name)
}

// remote is a remote as it is kept: a folder by its whole path.
func (f folder) remote(typed string) string {
	if records.IsFolder(typed) && !strings.Contains(typed, "://") {
		return f.path(typed)
	}
	return typed
}

// outside is what a command may reach outside the shop.
type outside struct {
	folder
	typed   io.Reader    // what is typed while it runs
	options desk.Options // of a desk at a shop that it makes
	reach   func(keyFiles ...string) records.SyncOptions
}

func (a *app) outside() outside {
	return outside{folder(a.Dir), a.In, a.deskOptions(), func(files ...string) records.SyncOptions { return reachFrom(a.World, a.Screen, files...) }}
}

func (a *app) path(name string) string { return folder(a.Dir).path(name) }

// passphrase asks on the terminal, without showing it.
func (a *app) passphrase(what string) ([]byte, error) {
	secret, err := a.Screen.Secret(a.In, what)
	if errors.Is(err, terminal.ErrNoTerminal) {
		return nil, failed("run it on a terminal", "%s: %v", what, err)
	}
	return secret, err
}

// moment reads --at: RFC 3339, or hours and minutes of today. Empty is now.
func moment(now time.Time, at string) (time.Time, error) {
	if at == "" {
		return now, nil
	}
	if t, err := time.Parse(time.RFC3339, at); err == nil {
		return t, nil
	}
	for _, layout := range []string{"2006-01-02 15:04", "2006-01-02T15:04", "2006-01-02 15:04:05", "2006-01-02T15:04:05"} {
		if t, err := time.ParseInLocation(layout, at, now.Location()); err == nil {
			return t, nil
		}
	}
	if t, err := time.ParseInLocation("15:04", at, now.Location()); err == nil {
		return time.Date(now.Year(), now.Month(), now.Day(), t.Hour(), t.Minute(), 0, 0, now.Location()), nil
	}
	return now, wrong("--at 09:14 (today), --at "+desk.Quoted(now.Format("2006-01-02 15:04"))+" or --at "+now.Format(time.RFC3339), "--at: %q is not a time", at)
}

// day reads a date, or takes today.
func day(now time.Time, flag, text string) (string, error) {
	if text == "" {
		return now.Format(time.DateOnly), nil
	}
	if _, err := time.Parse(time.DateOnly, text); err != nil {
		return "", wrong("--"+flag+" "+now.Format(time.DateOnly), "--%s: %q is not a date", flag, text)
	}
	return text, nil
}

// record writes a fact about a car down; see [record].
func (s *session) record(c desk.Car, at time.Time, data schema.Data) error {
	return record(s.Desk, s.Screen, c, at, data)
}

// keep puts a file into the shop; see [desk.Desk.KeepFile].
func (s *session) keep(name string, content io.Reader) (records.Evidence, error) {
	return s.KeepFile(name, content)
}

// otherCars is where else a file stands; see [desk.Desk.OtherUses].
func (s *session) otherCars(v desk.Car, kept records.Evidence) ([]string, error) {
	return s.OtherUses(v, kept)
}
