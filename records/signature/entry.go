package signature

import (
	"bytes"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha512"
	"encoding/base64"
	"errors"
	"fmt"
	"math/big"
	"strings"

	"github.com/hiddeco/sshsig"
	"golang.org/x/crypto/ssh"
)

// Entry is the namespace of what the author of an entry signs.
const Entry Namespace = "feedproof.entry"

// restBytes is what a security key signs besides: flags and its own counter.
const restBytes = 5

// frame is what a key signs for a message, by OpenSSH's PROTOCOL.sshsig, with SHA-512: nothing that a login or a commit could be.
func frame(message []byte) []byte {
	sum := sha512.Sum512(message)
	return append([]byte("SSHSIG"), ssh.Marshal(struct {
		Namespace, Reserved, Algorithm string
		Hash                           []byte
	}{string(Entry), "", sshsig.HashSHA512.String(), sum[:]})...)
}

// SignEntry signs the message of an entry (see schema.Scope) with its author's key: the blob of the SSH signature and what a security key
// puts behind it, in base64 without padding.
func SignEntry(message []byte, key ssh.Signer) (string, error) {
	if err := checkAlgorithm(key.PublicKey()); err != nil {
		return "", err
	}
	sig, err := key.Sign(rand.Reader, frame(message))
	if err != nil {
		return "", fmt.Errorf("signature: %w", err)
	}
	if sig.Blob, err = normal(key.PublicKey(), sig.Blob); err != nil {
		return "", err
	}
	return base64.RawStdEncoding.EncodeToString(append(bytes.Clone(sig.Blob), sig.Rest...)), nil
}

// CheckEntry holds a signature to the message and the public key. It must stand in its one normal form: the same entry with other bytes
// would be another entry.
func CheckEntry(message []byte, text string, key ssh.PublicKey) error {
	sig, err := readSignature(text, key)
	if err != nil {
		return err
	}
	if err := key.Verify(frame(message), sig); err != nil {
		return fmt.Errorf("signature: does not verify with key %s", Fingerprint(key))
	}
	return nil
}

// readSignature reads a signature of a key's kind in its normal form.
func readSignature(text string, key ssh.PublicKey) (*ssh.Signature, error) {
	all, err := base64.RawStdEncoding.Strict().DecodeString(text)
	if err != nil || base64.RawStdEncoding.EncodeToString(all) != text {
		return nil, errors.New("signature: is not in base64 without padding")
	}
	sig := &ssh.Signature{Format: key.Type(), Blob: all}
	if isSecurityKey(key) {
		if len(all) < restBytes {
			return nil, errors.New("signature: is too short for a security key's")
		}
		sig.Blob, sig.Rest = all[:len(all)-restBytes], all[len(all)-restBytes:]
	}
	blob, err := normal(key, sig.Blob)
	if err != nil {
		return nil, err
	}
	if !bytes.Equal(blob, sig.Blob) {
		return nil, errors.New("signature: is not in its normal form")
	}
	return sig, nil
}

func isSecurityKey(key ssh.PublicKey) bool { return strings.HasPrefix(key.Type(), "sk-") }

// curves are those of ECDSA keys. Their signatures (r, s) and (r, n-s) both verify; the lower s is the normal one.
var curves = map[string]elliptic.Curve{
	ssh.KeyAlgoECDSA256: elliptic.P256(), ssh.KeyAlgoECDSA384: elliptic.P384(), ssh.KeyAlgoECDSA521: elliptic.P521(),
	ssh.KeyAlgoSKECDSA256: elliptic.P256(),
}

const ed25519Bytes = 64

// normal is the one form in which a signature of this kind of key is written.
func normal(key ssh.PublicKey, blob []byte) ([]byte, error) {
	curve, is := curves[key.Type()]
	if !is {
		if len(blob) != ed25519Bytes {
			return nil, fmt.Errorf("signature: %d bytes, an ed25519 one has %d", len(blob), ed25519Bytes)
		}
		return blob, nil
	}
	var numbers struct{ R, S *big.Int }
	if err := ssh.Unmarshal(blob, &numbers); err != nil {
		return nil, fmt.Errorf("signature: is not two numbers: %w", err)
	}
	n := curve.Params().N
	for _, x := range []*big.Int{numbers.R, numbers.S} {
		if x.Sign() <= 0 || x.Cmp(n) >= 0 {
			return nil, errors.New("signature: its numbers are out of range")
		}
	}
	if other := new(big.Int).Sub(n, numbers.S); other.Cmp(numbers.S) < 0 {
		numbers.S = other
	}
	return ssh.Marshal(numbers), nil
}

// ArmorEntry is the signature of an entry as ssh-keygen -Y verify reads it; nothing that it needs is lost in the short form.
func ArmorEntry(text string, key ssh.PublicKey) ([]byte, error) {
	sig, err := readSignature(text, key)
	if err != nil {
		return nil, err
	}
	return sshsig.Armor(&sshsig.Signature{
		Version: 1, PublicKey: key, Namespace: string(Entry), HashAlgorithm: sshsig.HashSHA512, Signature: sig,
	}), nil
}
