package records

import (
	"context"
	"errors"
	"math/rand/v2"
	"path"
	"slices"
	"strings"
	"time"

	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/object"
	"github.com/go-git/go-git/v5/plumbing/storer"
	"golang.org/x/crypto/ssh"
)

// SyncOptions is how a shop exchanges its records.
type SyncOptions struct {
	By       string                             // who merges what came in
	Key      func() (ssh.Signer, error)         // their key; asked for only when something is to be signed
	Now      func() time.Time                   // nil for the clock
	Progress func(what string, done, total int) // nil for none

	// For servers alone.
	Identities func() []ssh.Signer // keys to log in with over ssh; nil for none
	Password   string              // of the user that an http address names
	Patience   time.Duration       // silence after which a server is given up; 0 for a minute
}

// SyncReport is what an exchange did.
type SyncReport struct {
	Remote string  `json:"remote"`
	Came   Counted `json:"came"`
	Went   Counted `json:"went"`
	Merged bool    `json:"merged"` // both sides had news
	Aside  []Aside `json:"set_aside"`
	Head   string  `json:"head"`
}

// Counted is how many entries in how many records.
type Counted struct {
	Entries int `json:"entries"`
	Records int `json:"records"`
}

// lineRefs hold a device's own line of commits where the remote's branch cannot be built on.
const lineRefs = "refs/lines/"

// maxTries bounds how often an exchange begins again because the remote moved.
const maxTries = 100

// Sync exchanges records with a remote: a folder or a stick, or a server. What comes in is judged commit by commit; what is right is merged
// by union, what is not is set aside with its reason and stops nothing else. Then the shop's own commits go out, and all of it again while
// somebody else moves the remote. It may be cut off at any moment: the shop and the remote are each as before or as after, and what was
// copied is not copied again.
//
// Errors: *RemoteError, *RoleError when nobody who may merge is at this machine, ErrBusy.
func (s *Shop) Sync(ctx context.Context, name string, o SyncOptions) (SyncReport, error) {
	x := exchange{Shop: s, SyncOptions: o, report: SyncReport{Remote: name, Aside: []Aside{}}}
	var err error
	if x.remote, err = s.openRemote(name, o); err != nil {
		return x.report, err
	}
	defer func() { _ = x.remote.close() }()
	before, err := s.head()
	if err != nil {
		return x.report, err
	}
	for try := range maxTries {
		err = x.once(ctx)
		if !errors.Is(err, errMoved) {
			break
		}
		if err := pause(ctx, try); err != nil {
			return x.report, err
		}
	}
	if errors.Is(err, errMoved) {
		err = &RemoteError{Remote: name, Reason: errors.New("moved each time: others are writing there"), Fix: "sync again in a minute"}
	}
	if counted := x.count(before, &x.report.Came); err == nil {
		err = counted
	}
	return x.report, err
}

// pause waits a little longer each time, and never two machines alike.
func pause(ctx context.Context, try int) error {
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-time.After(rand.N(time.Duration(min(try+1, 20)) * 20 * time.Millisecond)):
		return nil
	}
}

// openRemote tells a folder from a server by its name.
func (s *Shop) openRemote(name string, o SyncOptions) (remote, error) {
	if IsFolder(name) {
		return s.openFolder(name)
	}
	return s.openServer(name, o)
}

// exchange is one run of Sync.
type exchange struct {
	*Shop
	SyncOptions
	remote remote
	report SyncReport
	key    ssh.Signer
}

func (x *exchange) progress(what string) func(done, total int) {
	if x.Progress == nil {
		return nil
	}
	return func(done, total int) { x.Progress(what, done, total) }
}

// once fetches, judges, merges and pushes.
func (x *exchange) once(ctx context.Context) error {
	theirs, err := x.remote.refs(ctx)
	if err != nil {
		return err
	}
	bad, err := x.takeIn(ctx, theirs)
	if err != nil {
		return err
	}
	return x.giveOut(ctx, theirs, bad)
}

// lineTips is where the lines of commits of a remote end: its branch, and those of devices that could not build on it.
func lineTips(theirs refs) []plumbing.Hash {
	var tips []plumbing.Hash
	for name, tip := range theirs {
		if name == mainRef || strings.HasPrefix(string(name), lineRefs) {
			tips = append(tips, tip)
		}
	}
	slices.SortFunc(tips, func(a, b plumbing.Hash) int { return strings.Compare(a.String(), b.String()) })
	return slices.Compact(tips)
}

// takeIn merges what is right and sets aside what is not. It says which tips are bad.
func (x *exchange) takeIn(ctx context.Context, theirs refs) (map[plumbing.Hash]*VerifyError, error) {
	tips := lineTips(theirs)
	if len(tips) == 0 {
		return nil, nil
	}
	head, err := x.head()
	if err != nil {
		return nil, err
	}
	came, err := x.remote.fetch(ctx, tips, []plumbing.Hash{head})
	if err != nil {
		return nil, err
	}
	store := overlay{x.store, came}
	found, err := x.judge(ctx, store, tips, x.progress("checking commit"))
	if err != nil {
		return nil, err
	}
	if err := x.sameShop(theirs, found); err != nil {
		return nil, err
	}
	if len(found.good) > 0 {
		if err := x.take(ctx, store, found); err != nil {
			return nil, err
		}
	}
	x.report.Aside, err = x.setAside(store, found, tips)
	return found.bad, err
}

// sameShop refuses a remote that has nothing in common with this shop, rather than set all of it aside.
func (x *exchange) sameShop(theirs refs, found judged) error {
	main := theirs[mainRef]
	if found.bad[main] == nil || x.device.Remote == x.report.Remote {
		return nil
	}
	for _, hash := range found.kept {
		if fault := found.bad[hash]; errors.Is(fault.Reason, errOtherShop) {
			return &RemoteError{Remote: x.report.Remote, Reason: fault.Reason, Fix: "name the folder or address that this shop was given"}
		}
	}
	return nil
}

// take copies what is good and merges it.
func (x *exchange) take(ctx context.Context, store storer.EncodedObjectStorer, found judged) error {
	objects, err := addedObjects(store, found.good)
	if err != nil {
		return err
	}
	release, err := x.lock(ctx, gitDir)
	if err != nil {
		return err
	}
	defer release()
	if err := x.recover(); err != nil {
		return err
	}
	if err := send(ctx, x.Shop, store, objects, x.progress("copying object")); err != nil {
		return err
	}
	for _, tip := range found.tips {
		moved, err := x.advanceTo(tip)
		conflict := (*ConflictError)(nil)
		if errors.As(err, &conflict) {
			found.bad[tip] = &VerifyError{Commit: tip.String(), Entry: conflict.Entry, Reason: err}
			continue
		}
		if err != nil {
			return err
		}
		x.report.Merged = x.report.Merged || moved.joined
	}
	return nil
}

// advanceTo is advance with the key loaded when both sides have news.
func (x *exchange) advanceTo(tip plumbing.Hash) (advanced, error) {
	head, err := x.head()
	if err != nil {
		return advanced{}, err
	}
	l, err := apart(x.store, []plumbing.Hash{head}, []plumbing.Hash{tip})
	if err != nil {
		return advanced{}, err
	}
	if x.key == nil && !l.none(ourSide) && !l.none(theirSide) {
		if x.key, err = x.Key(); err != nil {
			return advanced{}, err
		}
	}
	return x.advance(MergeRequest{By: x.By, Key: x.key, Now: x.Now}, tip)
}

// giveOut sends the shop's own commits and moves the remote's branch. Where that leads to something bad, it is left as it is, and the
// commits go to a line of this device's own: the others find them there.
func (x *exchange) giveOut(ctx context.Context, theirs refs, bad map[plumbing.Hash]*VerifyError) error {
	head, err := x.head()
	if err != nil {
		return err
	}
	x.report.Head = head.String()
	ref := mainRef
	if bad[theirs[mainRef]] != nil {
		ref = plumbing.ReferenceName(lineRefs + x.device.Name)
	}
	if theirs[ref] == head {
		return nil
	}
	var have []plumbing.Hash
	for _, tip := range lineTips(theirs) {
		if bad[tip] == nil {
			have = append(have, tip)
		}
	}
	l, err := apart(x.store, []plumbing.Hash{head}, have)
	if err != nil {
		return err
	}
	objects, err := addedObjects(x.store, l.own(ourSide, head))
	if err != nil {
		return err
	}
	if err := x.remote.push(ctx, x.store, objects, []move{{ref, theirs[ref], head}}, x.progress("sending object")); err != nil {
		return err
	}
	old := theirs[ref]
	if bad[old] != nil {
		old = plumbing.ZeroHash
	}
	return x.count(old, &x.report.Went)
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
		after, err := now.anyRecordBlob(p, b.Hash)
		if err != nil {
			return err
		}
		var was schema.Record
		if !a.Hash.IsZero() {
			if was, err = now.anyRecordBlob(p, a.Hash); err != nil {
				return err
			}
		}
		into.Entries += len(beyond(was, after))
		into.Records++
		return nil
	})
}

// errOtherShop says that a history begins elsewhere.
var errOtherShop = errors.New("begins another shop")
