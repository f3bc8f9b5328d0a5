package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/records"
)

// openDesk finds and opens the shop: --shop, FEEDPROOF_SHOP, or by walking up.
func openDesk(w World, f commonFlags, out *terminal.Screen) (*desk.Desk, error) {
	dir := firstOf(f.shop, w.Getenv("FEEDPROOF_SHOP"))
	if dir == "" {
		found, err := records.Find(w.Dir)
		if err != nil {
			return nil, failed(`feedproof shop new DIR --lead "Name", or --shop DIR`, "%s: is not in a shop", w.Dir)
		}
		dir = found
	}
	d, err := desk.Open(folder(w.Dir).path(dir), deskOptions(w, f, out))
	if err != nil {
		return nil, err
	}
	return d, tellCopy(d, out)
}

func deskOptions(w World, f commonFlags, out *terminal.Screen) desk.Options {
	return desk.Options{
		Now: w.Now, As: firstOf(f.as, w.Getenv("FEEDPROOF_AS")), Agent: w.Getenv("SSH_AUTH_SOCK"), Program: program,
		Secret: func(what string) ([]byte, error) { return passphrase(w.In, out, what) }, Progress: out.Progress, Warn: out.Warn,
	}
}

// tellCopy says on a terminal how the whole of a copy is proved.
func tellCopy(d *desk.Desk, out *terminal.Screen) error {
	who, commit, isCopy, err := d.CopySigner()
	if err == nil && isCopy && out.Terminal() {
		out.Warn("copy for reading, up to commit %.12s, which %s (%s) signed; feedproof verify proves the whole of it", commit, who.Person, who.Name)
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

func outsideOf(w World, f commonFlags, out *terminal.Screen) outside {
	return outside{folder(w.Dir), w.In, deskOptions(w, f, out), func(files ...string) records.SyncOptions { return reachFrom(w, out, files...) }}
}

// passphrase asks on the terminal, without showing it.
func passphrase(in io.Reader, out *terminal.Screen, what string) ([]byte, error) {
	secret, err := out.Secret(in, what)
	if errors.Is(err, terminal.ErrNoTerminal) {
		return nil, failed("run it on a terminal", "%s: %v", what, err)
	}
	return secret, err
}
