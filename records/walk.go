package records

import (
	"fmt"
	"path"
	"strings"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/filemode"
	"github.com/go-git/go-git/v5/plumbing/object"
	"github.com/go-git/go-git/v5/plumbing/storer"
)

// ancestry lists the commits that lead to head, parents before children. Where keep says no, neither the commit nor what lies behind it is
// listed. Times play no part: clocks are wrong.
func ancestry(store storer.EncodedObjectStorer, head plumbing.Hash, keep func(*object.Commit) (bool, error)) ([]plumbing.Hash, error) {
	type visit struct {
		hash plumbing.Hash
		done bool // its parents are listed
	}
	var order []plumbing.Hash
	seen := map[plumbing.Hash]bool{}
	for stack := []visit{{hash: head}}; len(stack) > 0; {
		at := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if at.done {
			order = append(order, at.hash)
			continue
		}
		if seen[at.hash] {
			continue
		}
		seen[at.hash] = true
		c, err := readCommit(store, at.hash)
		if err != nil {
			return nil, &VerifyError{Commit: at.hash.String(), Reason: err}
		}
		if ok, err := keep(c); err != nil || !ok {
			if err != nil {
				return nil, err
			}
			continue
		}
		stack = append(stack, visit{at.hash, true})
		for _, p := range c.ParentHashes {
			stack = append(stack, visit{hash: p})
		}
	}
	return order, nil
}

func everything(*object.Commit) (bool, error) { return true, nil }

// maxFolders is how deep folders may be nested: twice as deep as records stand.
const maxFolders = 4

// diff calls visit for each file that differs between two folders, skipping equal ones by hash. An absent file is the zero entry. A folder
// that git itself would not write is an error.
func diff(store storer.EncodedObjectStorer, dir string, before, after plumbing.Hash, visit func(p string, before, after object.TreeEntry) error) error {
	if before == after {
		return nil
	}
	if strings.Count(dir, "/") >= maxFolders {
		return fmt.Errorf("%.40s...: folders are nested too deep", dir)
	}
	old, err := readTree(store, before)
	if err != nil {
		return err
	}
	fresh, err := readTree(store, after)
	if err != nil {
		return err
	}
	if err := checkTree(dir, fresh); err != nil {
		return err
	}
	left := map[string]object.TreeEntry{}
	for _, e := range old.Entries {
		left[e.Name] = e
	}
	pair := func(name string, a, b object.TreeEntry) error {
		p := path.Join(dir, name)
		if folder(a) && folder(b) {
			return diff(store, p, a.Hash, b.Hash, visit)
		}
		return visit(p, a, b)
	}
	for _, e := range fresh.Entries {
		was := left[e.Name]
		delete(left, e.Name)
		if was.Hash == e.Hash && was.Mode == e.Mode {
			continue
		}
		if err := pair(e.Name, was, e); err != nil {
			return err
		}
	}
	for _, e := range old.Entries {
		if _, gone := left[e.Name]; gone {
			if err := pair(e.Name, e, object.TreeEntry{}); err != nil {
				return err
			}
		}
	}
	return nil
}

// folder reports whether an entry can be walked into as one: a folder, or nothing.
func folder(e object.TreeEntry) bool { return e.Hash.IsZero() || e.Mode == filemode.Dir }

// checkTree refuses names and modes that have no place in a shop.
func checkTree(dir string, tree *object.Tree) error {
	seen := map[string]bool{}
	for _, e := range tree.Entries {
		p := path.Join(dir, e.Name)
		switch {
		case e.Mode != filemode.Regular && e.Mode != filemode.Dir:
			return fmt.Errorf("%s: is neither a plain file nor a folder (mode %s)", p, e.Mode)
		case e.Hash.IsZero():
			return fmt.Errorf("%s: points at nothing", p)
		case seen[e.Name]:
			return fmt.Errorf("%s: stands twice in its folder", p)
		case path.Clean(p) != p || path.Base(p) != e.Name || strings.EqualFold(e.Name, ".git") || strings.ContainsAny(e.Name, "\\:\x00"):
			return fmt.Errorf("%q: is not a file name", e.Name)
		}
		seen[e.Name] = true
	}
	return nil
}
