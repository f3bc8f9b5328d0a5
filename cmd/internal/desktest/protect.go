package desktest

import (
	"encoding/pem"
	"os"
	"testing"

	"golang.org/x/crypto/ssh"

	"feedproof/cmd/internal/desk"
)

// Protect puts a person's key under a passphrase.
func Protect(t testing.TB, d *desk.Desk, person, passphrase string) {
	t.Helper()
	path := d.KeyPath(person)
	text, err := os.ReadFile(path)
	must(t, err)
	key, err := ssh.ParseRawPrivateKey(text)
	must(t, err)
	block, err := ssh.MarshalPrivateKeyWithPassphrase(key, person, []byte(passphrase))
	must(t, err)
	must(t, os.WriteFile(path, pem.EncodeToMemory(block), 0o600))
}
