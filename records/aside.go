package records

import (
	"slices"
	"strings"
	"time"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/object"
	"github.com/go-git/go-git/v5/plumbing/storer"
)

// asideDir is a repository of its own beside the shop's, so that nothing that was refused is ever among the shop's objects. It borrows
// those of the shop: git shows what was refused with its history.
const (
	asideDir  = "aside.git"
	asideRefs = "refs/set-aside/"
)

func asideRef(tip plumbing.Hash) plumbing.ReferenceName {
	return plumbing.ReferenceName(asideRefs + tip.String())
}

// maxAsideBytes is how much of what was refused is kept to be looked at. The reason is kept in any case.
const maxAsideBytes = 64 << 20

// Aside is a line of commits that was not taken.
type Aside struct {
	Commit string    `json:"commit"` // where the line ends
	Remote string    `json:"remote"`
	When   time.Time `json:"when"`   // it was first seen, by this machine's clock
	Reason string    `json:"reason"` // the first fault: commit, person, file and entry as far as known
	New    bool      `json:"new"`    // in this exchange
}

// SetAside lists what was not taken, oldest first.
func (s *Shop) SetAside() ([]Aside, error) {
	aside, err := s.asideRepository()
	if err != nil {
		return nil, err
	}
	all, err := readRefs(aside.git)
	if err != nil {
		return nil, err
	}
	var list []Aside
	for name, hash := range all {
		o, err := readObject(aside.store, plumbing.TagObject, hash)
		if err != nil {
			return nil, err
		}
		tag := &object.Tag{}
		if err := tag.Decode(o); err != nil {
			return nil, err
		}
		remote, reason, _ := strings.Cut(strings.TrimSpace(tag.Message), "\n")
		list = append(list, Aside{Commit: strings.TrimPrefix(string(name), asideRefs), Remote: remote, When: tag.Tagger.When, Reason: strings.TrimSpace(reason)})
	}
	slices.SortFunc(list, func(a, b Aside) int {
		if c := a.When.Compare(b.When); c != 0 {
			return c
		}
		return strings.Compare(a.Commit, b.Commit)
	})
	return list, nil
}

func (s *Shop) asideRepository() (*Shop, error) { return attachTo(s.dir, s.disk, asideDir) }

// setAside keeps what was refused, each line under a reference that tells why.
func (x *exchange) setAside(store storer.EncodedObjectStorer, found judged, tips []plumbing.Hash) ([]Aside, error) {
	list := []Aside{}
	for _, tip := range slices.Concat(tips, found.tips) {
		if found.bad[tip] == nil {
			continue
		}
		a := Aside{Commit: tip.String(), Remote: x.report.Remote, When: x.now(), Reason: found.cause(tip).Error()}
		var err error
		if a.New, err = x.keepAside(store, found, tip, a); err != nil {
			return list, err
		}
		list = append(list, a)
	}
	return list, nil
}

func (x *exchange) now() time.Time {
	if x.Now != nil {
		return x.Now()
	}
	return time.Now()
}

// cause is the first fault on the way to a bad commit.
func (j judged) cause(tip plumbing.Hash) *VerifyError {
	fault := j.bad[tip]
	for fault.follows != nil {
		fault = fault.follows
	}
	return fault
}

// keepAside keeps one line, unless it is kept already.
func (x *exchange) keepAside(store storer.EncodedObjectStorer, found judged, tip plumbing.Hash, a Aside) (bool, error) {
	aside, err := x.asideRepository()
	if err != nil {
		return false, err
	}
	ref := asideRef(tip)
	all, err := readRefs(aside.git)
	if err != nil || !all[ref].IsZero() {
		return false, err
	}
	if !aside.hasRepository() {
		if err := aside.layOutRepository(); err != nil {
			return false, err
		}
		if err := aside.git.WriteFile("objects/info/alternates", []byte("../../"+gitDir+"/objects\n"), 0o644); err != nil {
			return false, err
		}
	}
	tag := &object.Tag{
		Name: a.Commit, Tagger: object.Signature{Name: "feedproof", Email: x.device.Name, When: a.When.UTC()}, Message: a.Remote + "\n\n" + a.Reason + "\n",
		Target: tip, TargetType: plumbing.CommitObject,
	}
	if !copyAside(aside, store, found) {
		tag.TargetType = plumbing.BlobObject
		if tag.Target, err = writeBlob(aside.store, []byte(a.Reason+"\n")); err != nil {
			return false, err
		}
	}
	o := &plumbing.MemoryObject{}
	if err := tag.Encode(o); err != nil {
		return false, err
	}
	hash, err := aside.store.SetEncodedObject(o)
	if err != nil {
		return false, err
	}
	if err := aside.fresh.Sync(); err != nil {
		return false, err
	}
	return true, moveRef(aside.git, move{ref: ref, new: hash})
}

// copyAside copies all bad commits with what they hold, and reports whether that could be done within bounds.
func copyAside(aside *Shop, store storer.EncodedObjectStorer, found judged) bool {
	objects, err := addedObjects(store, found.kept)
	if err != nil {
		return false
	}
	var total int64
	for _, hash := range objects {
		size, err := store.EncodedObjectSize(hash)
		if total += size; err != nil || total > maxAsideBytes {
			return false
		}
	}
	for _, hash := range objects {
		o, err := (checked{store}).EncodedObject(plumbing.AnyObject, hash)
		if err != nil {
			return false
		}
		if _, err := aside.store.SetEncodedObject(o); err != nil {
			return false
		}
	}
	return true
}
