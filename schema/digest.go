package schema

import (
	"crypto/sha256"
	"encoding/hex"
	"slices"
)

// Digest is the SHA-256, in hexadecimal, over the bytes of the entries in
// order of (counter, id), each followed by a line feed. It names exactly what
// a sign-off has seen; a merge that adds an entry changes it.
func Digest(entries []Entry) string {
	sorted := slices.Clone(entries)
	slices.SortStableFunc(sorted, listed)
	h := sha256.New()
	for _, e := range sorted {
		h.Write(e.raw)
		h.Write([]byte{'\n'})
	}
	return hex.EncodeToString(h.Sum(nil))
}
