package records

import (
	"bytes"
	"path"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/object"
)

// countWent adds up the entries that no line of the remote had.
func (x *exchange) countWent(have []plumbing.Hash) error {
	if len(have) == 0 {
		have = []plumbing.Hash{plumbing.ZeroHash}
	}
	for i, tip := range have {
		var went Counted
		if err := x.count(tip, &went); err != nil {
			return err
		}
		if i == 0 || went.Entries < x.report.Went.Entries {
			x.report.Went = went
		}
	}
	return nil
}

// count adds up the entries that the shop has and an older commit has not.
func (x *exchange) count(old plumbing.Hash, into *Counted) error {
	var before plumbing.Hash
	if !old.IsZero() {
		was, err := x.at(old)
		if err != nil {
			return err
		}
		before = was.root
	}
	now, _, err := x.snapshot()
	if err != nil {
		return err
	}
	*into = Counted{}
	return diff(x.store, "", before, now.root, func(p string, a, b object.TreeEntry) error {
		if path.Ext(p) != jsonExt || b.Hash.IsZero() {
			return nil
		}
		after, err := x.countLines(b.Hash)
		if err != nil {
			return err
		}
		was, err := x.countLines(a.Hash)
		if err != nil {
			return err
		}
		into.Entries += after - was
		into.Records++
		return nil
	})
}

// countLines is how many entries a record has: they stand one a line, between the first line and the last.
func (x *exchange) countLines(blob plumbing.Hash) (int, error) {
	if blob.IsZero() {
		return 0, nil
	}
	content, err := readBlob(x.store, blob)
	return max(bytes.Count(content, []byte("\n"))-2, 0), err
}
