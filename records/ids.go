package records

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"path"
	"strings"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/object"
)

// Where each entry of the shop stands is kept beside it, so that an id that comes in is held to all others without reading every record:
// spread over files by hash, and what was added since in one more. All of it can be deleted at any time.
const (
	idsDir  = "cache/ids"
	idsAt   = idsDir + "/at"   // the commit up to which it is whole
	idsTail = idsDir + "/tail" // what was added last
)

// longTail is the size from which the tail is spread.
const longTail = 1 << 20

// ids is the index as one exchange uses it.
type ids struct {
	shop  *Shop
	files map[string]map[string]string // file to entry id to path
}

// indexed brings the index up to the shop's branch and returns it. The cost follows what was committed since.
func (s *Shop) indexed() (*ids, error) {
	x := &ids{shop: s, files: map[string]map[string]string{}}
	snap, head, err := s.snapshot()
	if err != nil {
		return nil, err
	}
	at, err := s.disk.ReadFile(idsAt)
	if err != nil && !missing(err) {
		return nil, err
	}
	if string(at) == head.String() {
		return x, nil
	}
	var before plumbing.Hash
	if was, err := s.at(plumbing.NewHash(string(at))); err == nil {
		before = was.root
	}
	var tail bytes.Buffer
	err = diff(s.store, "", before, snap.root, func(p string, _, b object.TreeEntry) error {
		if path.Ext(p) != jsonExt || b.Hash.IsZero() {
			return nil
		}
		return snap.listIDs(p, b.Hash, &tail)
	})
	if err != nil {
		return nil, err
	}
	return x, x.append(tail.Bytes(), head)
}

// listIDs writes a line for each entry of a record.
func (n snapshot) listIDs(p string, blob plumbing.Hash, to *bytes.Buffer) error {
	content, err := readBlob(n.store, blob)
	if err != nil {
		return fmt.Errorf("%s: %w", p, err)
	}
	var r struct {
		Entries []struct {
			ID string `json:"id"`
		} `json:"entries"`
	}
	if err := json.Unmarshal(content, &r); err != nil {
		return fmt.Errorf("%s: %w", p, err)
	}
	for _, e := range r.Entries {
		fmt.Fprintf(to, "%s %s\n", e.ID, p)
	}
	return nil
}

// append adds lines to the tail, or spreads a tail that is long. The commit is noted last, when all is durable.
func (x *ids) append(lines []byte, head plumbing.Hash) error {
	disk := x.shop.disk
	if err := disk.MkdirAll(idsDir, 0); err != nil {
		return err
	}
	old, err := disk.ReadFile(idsTail)
	if err != nil && !missing(err) {
		return err
	}
	tail := append(old, lines...)
	if len(tail) > longTail {
		if err := x.spread(tail); err != nil {
			return err
		}
		tail = nil
	}
	if err := disk.WriteFile(idsTail, tail, 0o644); err != nil {
		return err
	}
	return disk.WriteFile(idsAt, []byte(head.String()), 0o644)
}

func (x *ids) spread(lines []byte) error {
	parts := map[string][]byte{}
	for line := range bytes.Lines(lines) {
		id, _, _ := strings.Cut(string(line), " ")
		parts[idsFile(id)] = append(parts[idsFile(id)], line...)
	}
	for name, part := range parts {
		old, err := x.shop.disk.ReadFile(name)
		if err != nil && !missing(err) {
			return err
		}
		if err := x.shop.disk.WriteFile(name, append(old, part...), 0o644); err != nil {
			return err
		}
	}
	return nil
}

func idsFile(id string) string {
	sum := sha256.Sum256([]byte(id))
	return path.Join(idsDir, hex.EncodeToString(sum[:1]))
}

// place is the path of the record that holds an entry; empty for none.
func (x *ids) place(id string) (string, error) {
	for _, name := range []string{idsTail, idsFile(id)} {
		known, err := x.read(name)
		if err != nil {
			return "", err
		}
		if p := known[id]; p != "" {
			return p, nil
		}
	}
	return "", nil
}

func (x *ids) read(name string) (map[string]string, error) {
	if known, ok := x.files[name]; ok {
		return known, nil
	}
	text, err := x.shop.disk.ReadFile(name)
	if err != nil && !missing(err) {
		return nil, err
	}
	known := make(map[string]string, bytes.Count(text, []byte("\n")))
	for line := range strings.Lines(string(text)) {
		id, p, _ := strings.Cut(strings.TrimSuffix(line, "\n"), " ")
		known[id] = p
	}
	x.files[name] = known
	return known, nil
}
