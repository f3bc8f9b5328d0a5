package packs

import (
	"bytes"
	"errors"
	"io"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/storer"
)

// beginning is how many bytes of an object say what it is a version of: a record begins with its kind and id, a folder with the name of its
// first file.
const beginning = 64

// held is a storer of objects that were read once.
type held struct {
	storer.EncodedObjectStorer
	objects map[plumbing.Hash]plumbing.EncodedObject
}

func (h held) EncodedObject(kind plumbing.ObjectType, hash plumbing.Hash) (plumbing.EncodedObject, error) {
	if o, there := h.objects[hash]; there {
		return o, nil
	}
	return h.EncodedObjectStorer.EncodedObject(kind, hash)
}

// versions parts objects into groups that begin alike, the versions of one file, in the order of their first; those that are alone in theirs
// make the last group. Differences are only looked for within a group: among objects of like size the next version of the same file is
// seldom near.
func versions(from storer.EncodedObjectStorer, objects []plumbing.Hash) (groups [][]plumbing.Hash, all held, err error) {
	all = held{from, map[plumbing.Hash]plumbing.EncodedObject{}}
	byBeginning := map[string]int{}
	for _, hash := range objects {
		o, err := from.EncodedObject(plumbing.AnyObject, hash)
		if err != nil {
			return nil, all, err
		}
		all.objects[hash] = o
		key, err := Beginning(o)
		if err != nil {
			return nil, all, err
		}
		i, known := byBeginning[key]
		if !known {
			i = len(groups)
			byBeginning[key] = i
			groups = append(groups, nil)
		}
		groups[i] = append(groups[i], hash)
	}
	var several [][]plumbing.Hash
	var alone []plumbing.Hash
	for _, g := range groups {
		if len(g) > 1 {
			several = append(several, g)
		} else {
			alone = append(alone, g...)
		}
	}
	if len(alone) > 0 {
		several = append(several, alone)
	}
	return several, all, nil
}

// Beginning is what versions of one file have in common: the kind of an object and how it begins.
func Beginning(o plumbing.EncodedObject) (string, error) {
	in, err := o.Reader()
	if err != nil {
		return "", err
	}
	first := make([]byte, beginning)
	n, err := io.ReadFull(in, first)
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		err = nil
	}
	name, _, _ := bytes.Cut(first[:n], []byte{0})
	return o.Type().String() + " " + string(name), errors.Join(err, in.Close())
}
