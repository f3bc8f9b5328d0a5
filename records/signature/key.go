package signature

import (
	"bytes"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"strings"

	"golang.org/x/crypto/ssh"
)

// Algorithms are the kinds of public key a person may have, by their OpenSSH names.
var Algorithms = []string{
	ssh.KeyAlgoED25519, ssh.KeyAlgoSKED25519,
	ssh.KeyAlgoECDSA256, ssh.KeyAlgoECDSA384, ssh.KeyAlgoECDSA521, ssh.KeyAlgoSKECDSA256,
}

// NewKey makes an ed25519 key and its private half in OpenSSH's format, encrypted when there is a passphrase.
func NewKey(comment string, passphrase []byte) (ssh.Signer, []byte, error) {
	_, private, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		return nil, nil, err
	}
	var block *pem.Block
	if len(passphrase) == 0 {
		block, err = ssh.MarshalPrivateKey(private, comment)
	} else {
		block, err = ssh.MarshalPrivateKeyWithPassphrase(private, comment, passphrase)
	}
	if err != nil {
		return nil, nil, err
	}
	signer, err := ssh.NewSignerFromKey(private)
	return signer, pem.EncodeToMemory(block), err
}

// WriteKey makes a key with NewKey and keeps it in a new file that only its owner can read. An existing file is an error.
func WriteKey(path, comment string, passphrase []byte) (ssh.Signer, error) {
	signer, private, err := NewKey(comment, passphrase)
	if err != nil {
		return nil, err
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return nil, fmt.Errorf("%s: a key is already there: keep it, or name another file", path)
	}
	if err != nil {
		return nil, err
	}
	_, err = f.Write(private)
	if err == nil {
		err = f.Sync()
	}
	if closed := f.Close(); err == nil {
		err = closed
	}
	if err != nil {
		return nil, errors.Join(err, os.Remove(path))
	}
	return signer, nil
}

// LoadKey reads a private key. Only an encrypted one asks for its passphrase.
func LoadKey(path string, passphrase func() ([]byte, error)) (ssh.Signer, error) {
	private, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	signer, err := ssh.ParsePrivateKey(private)
	var locked *ssh.PassphraseMissingError
	if errors.As(err, &locked) && passphrase != nil {
		signer, err = unlock(private, passphrase)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return signer, checkAlgorithm(signer.PublicKey())
}

func unlock(private []byte, passphrase func() ([]byte, error)) (ssh.Signer, error) {
	secret, err := passphrase()
	if err != nil {
		return nil, err
	}
	return ssh.ParsePrivateKeyWithPassphrase(private, secret)
}

// ParseKey reads one public key in the form of an OpenSSH authorized_keys line or .pub file: ed25519, ecdsa, or either on a security key.
func ParseKey(line string) (ssh.PublicKey, error) {
	key, _, options, rest, err := ssh.ParseAuthorizedKey([]byte(line))
	if err != nil {
		return nil, errors.New("key: is not an OpenSSH public key: give the one line of a .pub file")
	}
	if len(options) > 0 || len(bytes.TrimSpace(rest)) > 0 {
		return nil, errors.New("key: is more than one public key: give the one line of a .pub file")
	}
	return key, checkAlgorithm(key)
}

func checkAlgorithm(key ssh.PublicKey) error {
	if !slices.Contains(Algorithms, key.Type()) {
		return fmt.Errorf("key: %s is not accepted: make one with ssh-keygen -t ed25519", key.Type())
	}
	return nil
}

// KeyLine is the public key as one OpenSSH line, without a comment.
func KeyLine(key ssh.PublicKey) string {
	return strings.TrimSpace(string(ssh.MarshalAuthorizedKey(key)))
}

// Fingerprint is the key's SHA-256 fingerprint as ssh-keygen -l shows it.
func Fingerprint(key ssh.PublicKey) string { return ssh.FingerprintSHA256(key) }

// SameKey reports whether two public keys are equal.
func SameKey(a, b ssh.PublicKey) bool { return bytes.Equal(a.Marshal(), b.Marshal()) }
