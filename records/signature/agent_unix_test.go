//go:build unix

package signature

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/ed25519"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"io"
	"math/big"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"golang.org/x/crypto/ssh"
)

// A key in OpenSSH's own ssh-agent signs, and OpenSSH's ssh-keygen takes the signature.
func TestAgentSigns(t *testing.T) {
	for _, tool := range []string{"ssh-agent", "ssh-add", "ssh-keygen"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Fatalf("%s is not installed: apt-get install openssh-client", tool)
		}
	}
	dir := t.TempDir()
	socket := filepath.Join(dir, "agent")
	daemon := exec.Command("ssh-agent", "-D", "-a", socket)
	out, err := daemon.StdoutPipe()
	must(t, err)
	must(t, daemon.Start())
	t.Cleanup(func() { _ = daemon.Process.Kill(); _ = daemon.Wait() })
	_, err = io.ReadAtLeast(out, make([]byte, 1), 1) // it says where it listens, and listens
	must(t, err)
	for _, kind := range []string{"ed25519", "ecdsa"} {
		file := filepath.Join(dir, kind)
		_, err := run(t, "", "ssh-keygen", "-q", "-t", kind, "-N", "", "-f", file)
		must(t, err)
		add := exec.Command("ssh-add", "-q", file)
		add.Env = append(os.Environ(), "SSH_AUTH_SOCK="+socket)
		must(t, add.Run())
		line, err := os.ReadFile(file + ".pub")
		must(t, err)
		public, err := ParseKey(string(line))
		must(t, err)
		key, err := AgentKey(socket, public)
		must(t, err)
		sig, err := Sign(Statement, []byte("seen"), key)
		must(t, err)
		signer, err := Verify(Statement, []byte("seen"), sig)
		if err != nil || !SameKey(signer, public) {
			t.Errorf("%s: %v", kind, err)
		}
		opensshAccepts(t, public, sig)
	}
	stranger, _, err := NewKey("", nil)
	must(t, err)
	for where, keys := range map[string][]ssh.PublicKey{socket: {stranger.PublicKey()}, filepath.Join(dir, "none"): nil, "": nil} {
		if _, err := AgentKey(where, keys...); !errors.Is(err, ErrNoAgent) {
			t.Errorf("agent at %q: %v", where, err)
		}
	}
}

// A security key signs the application, its flags and its counter with the message (OpenSSH's PROTOCOL.u2f). The keys here are made by
// hand, as the hardware would; ssh-keygen is asked as well.
func TestSecurityKeys(t *testing.T) {
	_, edwards, err := ed25519.GenerateKey(rand.Reader)
	must(t, err)
	curve, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	must(t, err)
	for _, key := range []ssh.Signer{edwardsToken{edwards}, curveToken{curve}} {
		public, err := ParseKey(KeyLine(key.PublicKey()))
		must(t, err)
		sig, err := Sign(Statement, []byte("seen"), key)
		must(t, err)
		signer, err := Verify(Statement, []byte("seen"), sig)
		if err != nil || !SameKey(signer, public) {
			t.Errorf("%s: %v", public.Type(), err)
		}
		if _, err := Verify(Statement, []byte("not seen"), sig); err == nil {
			t.Errorf("%s: another message verifies", public.Type())
		}
		opensshAccepts(t, public, sig)
	}
}

func opensshAccepts(t *testing.T, public ssh.PublicKey, sig []byte) {
	t.Helper()
	if _, err := exec.LookPath("ssh-keygen"); err != nil {
		t.Fatal("ssh-keygen is not installed: apt-get install openssh-client")
	}
	dir := t.TempDir()
	allowed, signed := filepath.Join(dir, "allowed"), filepath.Join(dir, "sig")
	must(t, os.WriteFile(allowed, []byte("somebody "+KeyLine(public)+"\n"), 0o600))
	must(t, os.WriteFile(signed, sig, 0o600))
	if out, err := run(t, "seen", "ssh-keygen", "-Y", "verify", "-f", allowed, "-I", "somebody", "-n", string(Statement), "-s", signed); err != nil {
		t.Errorf("%s: %v %s", public.Type(), err, out)
	}
}

const application = "ssh:"

// touched is what a token signs for a message: it was touched, for the seventh time.
func touched(message []byte) (signed, rest []byte) {
	app, sum := sha256.Sum256([]byte(application)), sha256.Sum256(message)
	rest = append([]byte{1}, binary.BigEndian.AppendUint32(nil, 7)...)
	return bytes.Join([][]byte{app[:], rest, sum[:]}, nil), rest
}

// edwardsToken is a security key of type sk-ssh-ed25519.
type edwardsToken struct{ private ed25519.PrivateKey }

func (k edwardsToken) PublicKey() ssh.PublicKey {
	return parsed(ssh.Marshal(struct {
		Name string
		Key  []byte
		App  string
	}{ssh.KeyAlgoSKED25519, k.private.Public().(ed25519.PublicKey), application}))
}

func (k edwardsToken) Sign(_ io.Reader, message []byte) (*ssh.Signature, error) {
	signed, rest := touched(message)
	return &ssh.Signature{Format: ssh.KeyAlgoSKED25519, Blob: ed25519.Sign(k.private, signed), Rest: rest}, nil
}

// curveToken is a security key of type sk-ecdsa-sha2-nistp256.
type curveToken struct{ private *ecdsa.PrivateKey }

func (k curveToken) PublicKey() ssh.PublicKey {
	point, err := k.private.PublicKey.Bytes()
	if err != nil {
		panic(err)
	}
	return parsed(ssh.Marshal(struct {
		Name, Curve string
		Key         []byte
		App         string
	}{ssh.KeyAlgoSKECDSA256, "nistp256", point, application}))
}

func (k curveToken) Sign(_ io.Reader, message []byte) (*ssh.Signature, error) {
	signed, rest := touched(message)
	sum := sha256.Sum256(signed)
	r, s, err := ecdsa.Sign(rand.Reader, k.private, sum[:])
	return &ssh.Signature{Format: ssh.KeyAlgoSKECDSA256, Blob: ssh.Marshal(struct{ R, S *big.Int }{r, s}), Rest: rest}, err
}

func parsed(wire []byte) ssh.PublicKey {
	key, err := ssh.ParsePublicKey(wire)
	if err != nil {
		panic(err)
	}
	return key
}
