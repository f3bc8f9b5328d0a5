package records

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"sort"
	"strings"
	"time"

	"feedproof/records/internal/packs"
	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/filemode"
	"github.com/go-git/go-git/v5/plumbing/object"
	"github.com/go-git/go-git/v5/plumbing/storer"
	"golang.org/x/crypto/ssh"
)

// readContent reads an object's bytes and checks them against its name, which the storer does not do.
func readContent(store storer.EncodedObjectStorer, kind plumbing.ObjectType, hash plumbing.Hash) ([]byte, error) {
	stored, err := store.EncodedObject(kind, hash)
	if err != nil {
		return nil, fmt.Errorf("object %s: %w", hash, err)
	}
	content, err := contentOf(stored)
	if err != nil {
		return nil, fmt.Errorf("object %s: %w", hash, err)
	}
	if plumbing.ComputeHash(kind, content) != hash {
		return nil, fmt.Errorf("object %s: has the wrong content: the disk or another program damaged it", hash)
	}
	return content, nil
}

// contentOf is an object's bytes, which are not to be changed.
func contentOf(o plumbing.EncodedObject) ([]byte, error) {
	if whole, is := o.(*packs.Object); is {
		return whole.Content(), nil
	}
	in, err := o.Reader()
	if err != nil {
		return nil, err
	}
	defer in.Close()
	return readSized(in, o.Size())
}

// readSized is io.ReadAll for a size that is known but not believed.
func readSized(in io.Reader, size int64) ([]byte, error) {
	var content bytes.Buffer
	content.Grow(int(min(size, streamed)) + bytes.MinRead)
	_, err := content.ReadFrom(in)
	return content.Bytes(), err
}

// readObject is readContent as an object.
func readObject(store storer.EncodedObjectStorer, kind plumbing.ObjectType, hash plumbing.Hash) (*plumbing.MemoryObject, error) {
	content, err := readContent(store, kind, hash)
	if err != nil {
		return nil, err
	}
	checked := &plumbing.MemoryObject{}
	checked.SetType(kind)
	_, err = checked.Write(content)
	return checked, err
}

func readBlob(store storer.EncodedObjectStorer, hash plumbing.Hash) ([]byte, error) {
	return readContent(store, plumbing.BlobObject, hash)
}

// readTree reads one folder. The zero hash is an empty one.
func readTree(store storer.EncodedObjectStorer, hash plumbing.Hash) (*object.Tree, error) {
	tree := &object.Tree{}
	if hash.IsZero() {
		return tree, nil
	}
	o, err := readObject(store, plumbing.TreeObject, hash)
	if err != nil {
		return nil, err
	}
	return tree, tree.Decode(o)
}

func readCommit(store storer.EncodedObjectStorer, hash plumbing.Hash) (*object.Commit, error) {
	o, err := readObject(store, plumbing.CommitObject, hash)
	if err != nil {
		return nil, err
	}
	commit := &object.Commit{}
	return commit, commit.Decode(o)
}

func writeBlob(store storer.EncodedObjectStorer, content []byte) (plumbing.Hash, error) {
	o := &plumbing.MemoryObject{}
	o.SetType(plumbing.BlobObject)
	if _, err := o.Write(content); err != nil {
		return plumbing.ZeroHash, err
	}
	return store.SetEncodedObject(o)
}

// writeFile puts a blob at a path and writes the folders on that path alone.
func writeFile(store storer.EncodedObjectStorer, root plumbing.Hash, path string, blob plumbing.Hash) (plumbing.Hash, error) {
	name, rest, deeper := strings.Cut(path, "/")
	tree, err := readTree(store, root)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	entry := object.TreeEntry{Name: name, Mode: filemode.Regular, Hash: blob}
	if deeper {
		below, _ := find(tree, name)
		entry.Mode = filemode.Dir
		if entry.Hash, err = writeFile(store, below.Hash, rest, blob); err != nil {
			return plumbing.ZeroHash, err
		}
	}
	return writeTree(store, replace(tree.Entries, entry))
}

func find(tree *object.Tree, name string) (object.TreeEntry, bool) {
	for _, e := range tree.Entries {
		if e.Name == name {
			return e, true
		}
	}
	return object.TreeEntry{}, false
}

func replace(entries []object.TreeEntry, entry object.TreeEntry) []object.TreeEntry {
	for i := range entries {
		if entries[i].Name == entry.Name {
			entries[i] = entry
			return entries
		}
	}
	return append(entries, entry)
}

func writeTree(store storer.EncodedObjectStorer, entries []object.TreeEntry) (plumbing.Hash, error) {
	sort.Sort(object.TreeEntrySorter(entries))
	o := &plumbing.MemoryObject{}
	if err := (&object.Tree{Entries: entries}).Encode(o); err != nil {
		return plumbing.ZeroHash, err
	}
	return store.SetEncodedObject(o)
}

// author is a person as git shows one. The name loses what git cannot hold, the address is the id.
func author(p schema.PersonData, when time.Time) object.Signature {
	name := strings.TrimSpace(strings.Map(func(r rune) rune {
		if r < ' ' || r == '<' || r == '>' {
			return -1
		}
		return r
	}, p.Name))
	if name == "" {
		name = p.Person
	}
	return object.Signature{Name: name, Email: p.Person, When: when.UTC()}
}

// writeCommit signs and writes a commit.
func writeCommit(store storer.EncodedObjectStorer, c *object.Commit, key ssh.Signer) (plumbing.Hash, error) {
	message, err := signedPart(c)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	armored, err := signature.Sign(signature.Git, message, key)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	c.PGPSignature = string(armored)
	o := &plumbing.MemoryObject{}
	if err := c.Encode(o); err != nil {
		return plumbing.ZeroHash, err
	}
	return store.SetEncodedObject(o)
}

// signedPart is the commit as it was signed: all but the signature.
func signedPart(c *object.Commit) ([]byte, error) {
	o := &plumbing.MemoryObject{}
	if err := c.EncodeWithoutSignature(o); err != nil {
		return nil, err
	}
	in, err := o.Reader()
	if err != nil {
		return nil, err
	}
	defer in.Close()
	return io.ReadAll(in)
}

// commitKey is the key that signed a commit.
func commitKey(c *object.Commit) (ssh.PublicKey, error) {
	if strings.TrimSpace(c.PGPSignature) == "" {
		return nil, errors.New("is not signed")
	}
	message, err := signedPart(c)
	if err != nil {
		return nil, err
	}
	return signature.Verify(signature.Git, message, bytes.TrimSpace([]byte(c.PGPSignature)))
}
