package signature

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/ed25519"
	"crypto/elliptic"
	"crypto/rand"
	"encoding/base64"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/crypto/ssh"
	"pgregory.net/rapid"
)

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func newSigner(t testing.TB) ssh.Signer {
	t.Helper()
	key, _, err := NewKey("", nil)
	must(t, err)
	return key
}

// run runs an OpenSSH program, which judges from outside.
func run(t testing.TB, stdin, name string, args ...string) (string, error) {
	t.Helper()
	cmd := exec.Command(name, args...)
	cmd.Stdin = strings.NewReader(stdin)
	out, err := cmd.CombinedOutput()
	return string(out), err
}

func TestOpenSSHReadsOurKeys(t *testing.T) {
	for name, passphrase := range map[string]string{"plain": "", "encrypted": "correct horse"} {
		t.Run(name, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), "id")
			key, err := WriteKey(file, "tech-1", []byte(passphrase))
			must(t, err)
			info, err := os.Stat(file)
			must(t, err)
			if info.Mode().Perm() != 0o600 {
				t.Errorf("mode %v", info.Mode())
			}
			out, err := run(t, "", "ssh-keygen", "-y", "-P", passphrase, "-f", file)
			if err != nil || !strings.HasPrefix(out, KeyLine(key.PublicKey())) {
				t.Errorf("ssh-keygen -y says %s, %v", out, err)
			}
			must(t, os.WriteFile(file+".pub", []byte(KeyLine(key.PublicKey())+" tech-1\n"), 0o644))
			out, err = run(t, "", "ssh-keygen", "-l", "-f", file+".pub")
			if err != nil || !strings.Contains(out, Fingerprint(key.PublicKey())) {
				t.Errorf("ssh-keygen -l says %s, %v", out, err)
			}
			asked := 0
			loaded, err := LoadKey(file, func() ([]byte, error) { asked++; return []byte(passphrase), nil })
			must(t, err)
			if !SameKey(loaded.PublicKey(), key.PublicKey()) || (asked > 0) != (passphrase != "") {
				t.Errorf("loaded %s after asking %d times", Fingerprint(loaded.PublicKey()), asked)
			}
			if _, err := WriteKey(file, "tech-1", nil); err == nil {
				t.Error("a key was written over another")
			}
		})
	}
}

func TestKeyThatCannotBeLoaded(t *testing.T) {
	dir := t.TempDir()
	locked := filepath.Join(dir, "locked")
	_, err := WriteKey(locked, "", []byte("secret"))
	must(t, err)
	if _, err := LoadKey(locked, nil); err == nil {
		t.Error("an encrypted key was loaded without a passphrase")
	}
	if _, err := LoadKey(locked, func() ([]byte, error) { return []byte("wrong"), nil }); err == nil {
		t.Error("a wrong passphrase was accepted")
	}
	given := errors.New("no terminal")
	if _, err := LoadKey(locked, func() ([]byte, error) { return nil, given }); !errors.Is(err, given) {
		t.Errorf("says %v", err)
	}
	text := filepath.Join(dir, "text")
	must(t, os.WriteFile(text, []byte("hello"), 0o600))
	if _, err := LoadKey(text, nil); err == nil || !strings.Contains(err.Error(), text) {
		t.Errorf("says %v", err)
	}
}

// Keys made by ssh-keygen; the security-key lines are public keys of the forms that PROTOCOL.u2f of OpenSSH defines.
func TestPublicKeysOfOpenSSH(t *testing.T) {
	dir := t.TempDir()
	var lines []string
	for _, kind := range [][]string{{"ed25519"}, {"ecdsa", "-b", "256"}, {"ecdsa", "-b", "521"}} {
		file := filepath.Join(dir, strings.Join(kind, ""))
		out, err := run(t, "", "ssh-keygen", append([]string{"-q", "-N", "", "-C", "someone", "-f", file, "-t"}, kind...)...)
		if err != nil {
			t.Fatal(out, err)
		}
		line, err := os.ReadFile(file + ".pub")
		must(t, err)
		lines = append(lines, string(line))
	}
	lines = append(lines, skLine(t))
	for _, line := range lines {
		key, err := ParseKey(line)
		if err != nil {
			t.Errorf("%s: %v", line, err)
			continue
		}
		if !strings.HasPrefix(line, KeyLine(key)) {
			t.Errorf("%s becomes %s", line, KeyLine(key))
		}
	}
}

// skLine is an ed25519 public key of a security key.
func skLine(t testing.TB) string {
	t.Helper()
	public, _, err := ed25519.GenerateKey(rand.Reader)
	must(t, err)
	blob := ssh.Marshal(struct{ Name, Key, Application string }{ssh.KeyAlgoSKED25519, string(public), "ssh:"})
	return ssh.KeyAlgoSKED25519 + " " + base64.StdEncoding.EncodeToString(blob) + " someone"
}

func TestKeysThatAreRefused(t *testing.T) {
	out := filepath.Join(t.TempDir(), "rsa")
	if said, err := run(t, "", "ssh-keygen", "-q", "-N", "", "-t", "rsa", "-b", "2048", "-f", out); err != nil {
		t.Fatal(said, err)
	}
	rsa, err := os.ReadFile(out + ".pub")
	must(t, err)
	good := KeyLine(newSigner(t).PublicKey())
	for _, try := range []struct{ name, line, says string }{
		{"nothing", "", "is not an OpenSSH public key"},
		{"words", "my key", "is not an OpenSSH public key"},
		{"rsa", string(rsa), "ssh-rsa is not accepted"},
		{"two keys", good + "\n" + good, "more than one"},
		{"options", "command=\"x\" " + good, "more than one"},
	} {
		if _, err := ParseKey(try.line); err == nil || !strings.Contains(err.Error(), try.says) {
			t.Errorf("%s: says %v, want %q", try.name, err, try.says)
		}
	}
}

func TestSignatureHoldsForItsMessageAndPurposeAlone(t *testing.T) {
	key := newSigner(t)
	rapid.Check(t, func(t *rapid.T) {
		message := rapid.SliceOf(rapid.Byte()).Draw(t, "message")
		armored, err := Sign(Statement, message, key)
		if err != nil {
			t.Fatal(err)
		}
		by, err := Verify(Statement, message, armored)
		if err != nil || !SameKey(by, key.PublicKey()) {
			t.Fatalf("does not verify: %v", err)
		}
		if _, err := Verify(Git, message, armored); err == nil {
			t.Fatal("verifies for another purpose")
		}
		other := rapid.SliceOf(rapid.Byte()).Filter(func(b []byte) bool { return !bytes.Equal(b, message) }).Draw(t, "other")
		if _, err := Verify(Statement, other, armored); err == nil {
			t.Fatal("verifies for another message")
		}
	})
}

func TestECDSASigns(t *testing.T) {
	private, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	must(t, err)
	key, err := ssh.NewSignerFromKey(private)
	must(t, err)
	armored, err := Sign(Statement, []byte("x"), key)
	must(t, err)
	by, err := Verify(Statement, []byte("x"), armored)
	if err != nil || !SameKey(by, key.PublicKey()) {
		t.Errorf("does not verify: %v", err)
	}
}

func FuzzVerify(f *testing.F) {
	key := newSigner(f)
	armored, err := Sign(Statement, []byte("message"), key)
	must(f, err)
	f.Add([]byte("message"), armored)
	f.Add([]byte(""), []byte("-----BEGIN SSH SIGNATURE-----\n-----END SSH SIGNATURE-----\n"))
	f.Fuzz(func(t *testing.T, message, sig []byte) {
		by, err := Verify(Statement, message, sig)
		if err == nil && SameKey(by, key.PublicKey()) && string(message) != "message" {
			t.Errorf("a signature of this key verifies over %q", message)
		}
	})
}
