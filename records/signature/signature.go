// Package signature says who wrote what: it signs and verifies with SSH keys and folds the shop's roster out of its record.
//
// Use Sign and Verify for bytes, and NewRoster for who may write which kind of entry. Signatures are SSHSIG (OpenSSH's
// PROTOCOL.sshsig), so that git verify-commit and ssh-keygen -Y verify accept them too. A name in a field proves nothing here;
// agents and key stores are deliberately absent: anything that is an ssh.Signer will do.
package signature

import (
	"bytes"
	"fmt"

	"github.com/hiddeco/sshsig"
	"golang.org/x/crypto/ssh"
)

// Namespace keeps a signature for one purpose from being used for another.
type Namespace string

// Namespaces of signatures.
const (
	Git       Namespace = "git"       // commits, as git itself signs them
	Statement Namespace = "feedproof" // a detached statement, such as a sign-off
)

// Sign makes an armored SSHSIG signature (SHA-512) over the message.
func Sign(ns Namespace, message []byte, key ssh.Signer) ([]byte, error) {
	sig, err := sshsig.Sign(bytes.NewReader(message), key, sshsig.HashSHA512, string(ns))
	if err != nil {
		return nil, fmt.Errorf("signature: %w", err)
	}
	return sshsig.Armor(sig), nil
}

// Verify checks an armored signature over the message and returns the key that made it. Whether that key belongs to anyone is for
// a Roster to say.
func Verify(ns Namespace, message, armored []byte) (ssh.PublicKey, error) {
	sig, err := sshsig.Unarmor(armored)
	if err != nil {
		return nil, fmt.Errorf("signature: cannot be read: %w", err)
	}
	if err := checkAlgorithm(sig.PublicKey); err != nil {
		return nil, fmt.Errorf("signature: %w", err)
	}
	if err := sshsig.Verify(bytes.NewReader(message), sig, sig.PublicKey, sig.HashAlgorithm, string(ns)); err != nil {
		return nil, fmt.Errorf("signature: does not verify: %w", err)
	}
	return sig.PublicKey, nil
}
