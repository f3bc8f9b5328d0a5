package records

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/storer"
	"golang.org/x/crypto/ssh"
)

// SyncOptions is how a shop exchanges its records.
type SyncOptions struct {
	By       string                             // who merges what came in
	Key      func() (ssh.Signer, error)         // their key; asked for only when something is to be signed
	Now      func() time.Time                   // nil for the clock
	Progress func(what string, done, total int) // nil for none
	Replace  bool                               // put the shop's line in place of a branch that leads to something bad; a lead decides that

	// For servers alone.
	Identities func() []ssh.Signer // keys to log in with over ssh; nil for none
	Password   string              // of the user that an http address names
	Patience   time.Duration       // silence after which a server is given up; 0 for a minute
}

// SyncReport is what an exchange did.
type SyncReport struct {
	Remote string   `json:"remote"`
	Came   Counted  `json:"came"`
	Went   Counted  `json:"went"`
	Merged bool     `json:"merged"`                  // both sides had news
	Drafts []string `json:"drafts"`                  // devices whose drafts came
	Kept   int      `json:"drafts_kept"`             // how many draft entries of this machine went
	Stayed string   `json:"drafts_stayed,omitempty"` // why they did not
	Aside  []Aside  `json:"set_aside"`
	Head   string   `json:"head"`
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
	if !schema.ValidID(s.device.Name) {
		return SyncReport{Remote: name}, fmt.Errorf("%s: names no machine: write a name into it, {\"name\": \"bay-2\"}", deviceFile)
	}
	x := exchange{Shop: s, SyncOptions: o, report: SyncReport{Remote: name, Aside: []Aside{}, Drafts: []string{}}}
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
	want := slices.Clone(tips)
	for _, ref := range draftTips(theirs, x.device.Name) {
		want = append(want, theirs[ref])
	}
	if len(want) == 0 {
		return nil, nil
	}
	head, err := x.head()
	if err != nil {
		return nil, err
	}
	came, err := x.remote.fetch(ctx, want, []plumbing.Hash{head})
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
	if x.report.Aside, err = x.setAside(store, found, tips); err != nil {
		return nil, err
	}
	return found.bad, x.takeDrafts(ctx, theirs, came)
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
	if !l.holds(head) && !l.holds(tip) {
		if err := x.needKey(); err != nil {
			return advanced{}, err
		}
	}
	return x.advance(MergeRequest{By: x.By, Key: x.key, Now: x.Now}, tip)
}

// needKey loads the key when something is to be signed.
func (x *exchange) needKey() error {
	if x.key != nil {
		return nil
	}
	var err error
	x.key, err = x.Key()
	return err
}

// giveOut sends the shop's own commits and drafts, and moves the remote's references.
func (x *exchange) giveOut(ctx context.Context, theirs refs, bad map[plumbing.Hash]*VerifyError) error {
	head, err := x.head()
	if err != nil {
		return err
	}
	x.report.Head = head.String()
	var moves []move
	var objects []plumbing.Hash
	ref := x.ownLine(theirs, bad)
	have := goodTips(theirs, bad)
	fresh, err := x.news(head, have)
	if err != nil {
		return err
	}
	if ref == mainRef && theirs[ref] != head || len(fresh) > 0 {
		if objects, err = addedObjects(x.store, fresh); err != nil {
			return err
		}
		moves = append(moves, move{ref, theirs[ref], head})
		if at := asideRef(theirs[ref]); bad[theirs[ref]] != nil && theirs[at].IsZero() {
			moves = append(moves, move{ref: at, new: theirs[ref]})
		}
	}
	drafts, err := x.ownDrafts()
	if err != nil {
		return err
	}
	if at := plumbing.ReferenceName(draftRefs + x.device.Name); !drafts.IsZero() && theirs[at] != drafts {
		more, err := addedObjects(x.store, []plumbing.Hash{drafts})
		if err != nil {
			return err
		}
		objects = append(objects, more...)
		moves = append(moves, move{at, theirs[at], drafts})
	}
	if len(moves) == 0 {
		return nil
	}
	if err := x.remote.push(ctx, x.store, objects, moves, x.progress("sending object")); err != nil {
		return x.unsent(ctx, err)
	}
	if !drafts.IsZero() && theirs[plumbing.ReferenceName(draftRefs+x.device.Name)] != drafts {
		if err := x.countDrafts(); err != nil {
			return err
		}
	}
	if moves[0].ref != ref {
		return nil
	}
	return x.countWent(have)
}

// unsent says that only the way out is closed.
func (x *exchange) unsent(ctx context.Context, err error) error {
	if known := (*RemoteError)(nil); errors.Is(err, errMoved) || errors.As(err, &known) || ctx.Err() != nil {
		return err
	}
	return &RemoteError{
		Remote: x.report.Remote, Reason: fmt.Errorf("what it had is in the shop now, and nothing could be written to it: %w", err),
		Fix: "make room there, or make it writable, and sync again: nothing was lost",
	}
}

// ownLine is the reference that a device moves: the remote's branch, or where that leads to something bad, which is left as it is unless it
// is to be replaced, a line of its own, where the others find it.
func (x *exchange) ownLine(theirs refs, bad map[plumbing.Hash]*VerifyError) plumbing.ReferenceName {
	if x.Replace || bad[theirs[mainRef]] == nil {
		return mainRef
	}
	return plumbing.ReferenceName(lineRefs + x.device.Name)
}

// goodTips is where the remote's lines end that were taken.
func goodTips(theirs refs, bad map[plumbing.Hash]*VerifyError) []plumbing.Hash {
	return slices.DeleteFunc(lineTips(theirs), func(tip plumbing.Hash) bool { return bad[tip] != nil })
}

// news lists the shop's commits that the remote does not have.
func (x *exchange) news(head plumbing.Hash, have []plumbing.Hash) ([]plumbing.Hash, error) {
	l, err := apart(x.store, []plumbing.Hash{head}, have)
	if err != nil {
		return nil, err
	}
	return l.own(ourSide, head), nil
}

// errOtherShop says that a history begins elsewhere.
var errOtherShop = errors.New("begins another shop")
