package schema

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
)

// Scope is where an entry belongs: a shop, named by the fingerprint of its
// first key, and one of its records. What is signed names it, so no entry can
// be replayed into another.
type Scope struct {
	Shop string
	Kind RecordKind
	ID   string
}

// Of is the scope of a record of a shop.
func (r Record) Of(shop string) Scope { return Scope{shop, r.Kind, r.ID} }

// messageForm begins what is signed, so that a later form cannot be taken for it.
const messageForm = "feedproof entry 1\n"

// Hash is SHA-256 over the message of an entry: over what it says, where it
// stands, and through the hashes of what its writer had seen over all of that.
type Hash [sha256.Size]byte

// Message is what the author of an entry signs: the form, the scope, the hash
// of each entry that it names as seen, in their order, and its line without the
// signature.
func (s Scope) Message(e Entry, seen []Hash) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "%s%s\n%s\n%s\n", messageForm, s.Shop, s.Kind, s.ID)
	for _, h := range seen {
		b.WriteString(base64.StdEncoding.EncodeToString(h[:]))
		b.WriteByte('\n')
	}
	b.Write(e.unsigned())
	return b.Bytes()
}

// Hash is the hash of an entry, given those of the entries that it names.
func (s Scope) Hash(e Entry, seen []Hash) Hash { return sha256.Sum256(s.Message(e, seen)) }

const (
	sigBegins = `,"sig":"`
	sigEnds   = `"}`
)

// unsigned is the line without its signature, which is its end.
func (e Entry) unsigned() []byte {
	end := len(sigBegins) + len(e.Sig) + len(sigEnds)
	if e.Sig == "" || len(e.raw) < end || !bytes.HasPrefix(e.raw[len(e.raw)-end:], []byte(sigBegins)) {
		return e.raw
	}
	return append(bytes.Clone(e.raw[:len(e.raw)-end]), '}')
}

// Signed is the entry with its author's signature, which stands at the end of
// its line in place of any that was there.
func (e Entry) Signed(sig string) (Entry, error) {
	line := e.unsigned()
	return DecodeEntry(append(bytes.Clone(line[:len(line)-1]), sigBegins+sig+sigEnds...))
}

// Hashes are those of the entries of one record. The zero value has no scope.
type Hashes struct {
	Scope
	known map[string]Hash
}

// HashesOf hashes a record in order of (counter, id). What rests on an entry
// that is not there has no hash.
func HashesOf(scope Scope, entries []Entry) Hashes {
	h := Hashes{scope, make(map[string]Hash, len(entries))}
	for _, e := range entries {
		h.Add(e)
	}
	return h
}

// Add hashes one more entry, when all that it names has been hashed.
func (h Hashes) Add(e Entry) {
	if _, there := h.known[e.ID]; there {
		return
	}
	if seen, err := h.seen(e); err == nil {
		h.known[e.ID] = h.Hash(e, seen)
	}
}

// Sign is the message of an entry; the error names what it rests on and is
// missing.
func (h Hashes) Sign(e Entry) ([]byte, error) {
	seen, err := h.seen(e)
	if err != nil {
		return nil, err
	}
	return h.Message(e, seen), nil
}

func (h Hashes) seen(e Entry) ([]Hash, error) {
	seen := make([]Hash, len(e.After))
	for i, id := range e.After {
		hash, there := h.known[id]
		if !there {
			return nil, fmt.Errorf("entry %s: rests on %s, which is not in this record as it was seen", e.ID, id)
		}
		seen[i] = hash
	}
	return seen, nil
}
