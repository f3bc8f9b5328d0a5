package records

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"feedproof/records/internal/gitfs"
	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/storer"
)

// Beginning is how a shop's history begins: the first key, on which all later trust rests, and whose it is.
type Beginning struct {
	Fingerprint string `json:"key"`
	Person      string `json:"person"`
	Name        string `json:"name"`
}

// JoinOptions is how a machine joins a shop.
type JoinOptions struct {
	Fingerprint string // of the first key, learned from a lead and not from the remote
	Device      Device
	Reach       SyncOptions // how to reach the remote, and whom to tell how far it is
}

// WrongKeyError says that a history begins with another key than the one that was given.
type WrongKeyError struct {
	Remote string
	Want   string
	Begins Beginning
}

func (e *WrongKeyError) Error() string {
	return fmt.Sprintf("%s: begins with key %s of %s, not with %s", e.Remote, e.Begins.Fingerprint, e.Begins.Person, e.Want)
}

// Beginnings reads how the history at a remote begins, for somebody to compare with what a lead says. Nothing is kept.
func Beginnings(ctx context.Context, remoteName string, reach SyncOptions) (Beginning, error) {
	dir, err := os.MkdirTemp("", "feedproof")
	if err != nil {
		return Beginning{}, err
	}
	defer func() { _ = os.RemoveAll(dir) }()
	s, err := attach(dir, gitfs.Folder(dir))
	if err != nil {
		return Beginning{}, err
	}
	store, theirs, end, err := s.offered(ctx, remoteName, reach)
	if err != nil {
		return Beginning{}, err
	}
	defer end()
	return beginning(store, theirs[mainRef])
}

// Join makes a shop in a folder out of what a remote holds. The whole history is checked first; it must begin with the key of the given
// fingerprint, or the error is a *WrongKeyError and nothing is made. One that was cut off is taken up again by the next.
func Join(ctx context.Context, remoteName, dir string, o JoinOptions) (*Shop, SyncReport, error) {
	_, missing := os.Stat(dir)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, SyncReport{}, err
	}
	s, err := attach(dir, gitfs.Folder(dir))
	if err != nil {
		return nil, SyncReport{}, err
	}
	if _, err := s.head(); err == nil {
		return nil, SyncReport{}, fmt.Errorf("%s: is a shop already", dir)
	}
	x := exchange{Shop: s, SyncOptions: o.Reach, report: SyncReport{Remote: remoteName}}
	err = x.join(ctx, o)
	if wrong := (*WrongKeyError)(nil); errors.As(err, &wrong) && errors.Is(missing, fs.ErrNotExist) {
		err = errors.Join(err, os.RemoveAll(dir)) // only what this made is in it
	}
	return s, x.report, err
}

func (x *exchange) join(ctx context.Context, o JoinOptions) error {
	came, theirs, end, err := x.offered(ctx, x.report.Remote, o.Reach)
	if err != nil {
		return err
	}
	defer end()
	store := overlay{x.store, came}
	begins, err := beginning(store, theirs[mainRef])
	if err != nil {
		return err
	}
	if begins.Fingerprint != o.Fingerprint {
		return &WrongKeyError{Remote: x.report.Remote, Want: o.Fingerprint, Begins: begins}
	}
	x.device.Pinned = o.Fingerprint
	tips := lineTips(theirs)
	found, err := x.judgeBeside(ctx, store, nil, tips, x.progress("checking commit"))
	if err != nil {
		return err
	}
	if len(found.tips) == 0 {
		return found.first()
	}
	return x.settleIn(ctx, store, found, theirs, o)
}

// settleIn writes the shop: its objects first, and the branch last.
func (x *exchange) settleIn(ctx context.Context, store storer.EncodedObjectStorer, found judged, theirs refs, o JoinOptions) error {
	if err := x.layOut(x.dir); err != nil {
		return err
	}
	objects, err := addedObjects(store, found.good)
	if err != nil {
		return err
	}
	if err := send(ctx, x.Shop, store, objects, x.progress("copying object")); err != nil {
		return err
	}
	if err := x.SetDevice(o.Device); err != nil {
		return err
	}
	if x.report.Aside, err = x.setAside(store, found, lineTips(theirs)); err != nil {
		return err
	}
	start := found.tips[0]
	if theirs[mainRef] != (plumbing.Hash{}) && found.bad[theirs[mainRef]] == nil {
		start = theirs[mainRef]
	}
	if err := x.fresh.Sync(); err != nil {
		return err
	}
	if err := x.git.WriteNew(string(mainRef), []byte(start.String()+"\n"), 0o644); err != nil {
		return err
	}
	x.report.Head = start.String()
	return x.count(plumbing.ZeroHash, &x.report.Came)
}

// offered is what a remote holds, readable until end.
func (s *Shop) offered(ctx context.Context, name string, o SyncOptions) (store storer.EncodedObjectStorer, theirs refs, end func(), err error) {
	r, err := s.openRemote(name, o)
	if err != nil {
		return nil, nil, nil, err
	}
	end = func() { _ = r.close() }
	if theirs, err = r.refs(ctx); err == nil && theirs[mainRef].IsZero() {
		err = &RemoteError{Remote: name, Reason: errors.New("holds no shop yet"), Fix: "on the machine that has the shop: feedproof sync " + name}
	}
	if err == nil {
		store, err = r.fetch(ctx, lineTips(theirs), nil)
	}
	if err != nil {
		end()
		return nil, nil, nil, err
	}
	return store, theirs, end, nil
}

// beginning reads the first commit of a history: its key, and whose the shop says it is.
func beginning(store storer.EncodedObjectStorer, head plumbing.Hash) (Beginning, error) {
	order, err := ancestry(store, head, everything)
	if err != nil {
		return Beginning{}, err
	}
	c, err := readCommit(store, order[0])
	if err != nil {
		return Beginning{}, err
	}
	key, err := commitKey(c)
	if err != nil {
		return Beginning{}, &VerifyError{Commit: c.Hash.String(), Reason: err}
	}
	b := Beginning{Fingerprint: signature.Fingerprint(key)}
	snap := snapshot{store: store, root: c.TreeHash}
	p, blob, err := snap.find(schema.ShopRecord, "")
	if err != nil {
		return b, &VerifyError{Commit: c.Hash.String(), Path: shopFile, Reason: err}
	}
	own, err := snap.recordBlob(p, blob)
	if err != nil {
		return b, &VerifyError{Commit: c.Hash.String(), Path: shopFile, Reason: err}
	}
	lead, err := signature.NewRoster(own).Signer(key)
	b.Person, b.Name = lead.Person, lead.Name
	if err != nil {
		return b, &VerifyError{Commit: c.Hash.String(), Path: shopFile, Reason: err}
	}
	return b, nil
}
