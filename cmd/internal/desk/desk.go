// Package desk is one opened shop, one view of it a command, and who is at it:
// find, record, judge, commit and sign.
//
// Start with [Open]. A [Desk] looks at the shop's last commit once, when it is
// first asked, and answers everything from there, so that a command sees one
// shop; only what is written under the lock is looked at again, and [Desk.Refresh]
// is for those who stay. It joins records to checklist: a commit and a sign-off
// get their gate here. Failures are [*Error]s: the thing, what is wrong, the
// command that mends it, and of which sort. What is deliberately absent:
// commands, screens, the network, and any rule.
package desk

import (
	"context"
	"io"
	"time"

	"feedproof/records"
	"feedproof/records/signature"
	"feedproof/schema"
)

// Options are what a desk needs of the world around it. All but Now may be
// missing.
type Options struct {
	Now      func() time.Time
	As       string                                  // who acts; empty is who is on this machine
	Agent    string                                  // socket of the ssh-agent
	Program  func() string                           // names the build: another one gathers anew
	Secret   func(what string) ([]byte, error)       // asks for a passphrase
	Progress func(what string) func(done, total int) // begins to show a long thing; may be nil
	Warn     func(format string, args ...any)        // says what must be known beside the answer
}

// Desk is an open shop and who is at it. It is for one command, or for one
// person who stays, and not for several at once.
type Desk struct {
	shop    *records.Shop
	options Options
	seen    *look
}

// look is what was read of one commit of the shop.
type look struct {
	view   records.View
	drafts []string // cars that had one just before
	facts  *schema.Shop
	source *Source
	gauges []Instrument // nil before they are read; not to be changed
}

// Store is what a shop does beside handing out records and taking entries.
type Store interface {
	Dir() string
	KeysDir() string
	Device() records.Device
	SetDevice(records.Device) error
	Keep(content io.Reader) (records.Evidence, error)
	OpenEvidence(sum string) (io.ReadCloser, error)
	UsesOf(sum string) ([]records.Use, error)
	History(ctx context.Context, kind schema.RecordKind, id string, progress func(done, total int)) ([]records.Change, error)
	ViewAt(commit string) (records.View, string, error)
	Verify(ctx context.Context, progress func(done, total int)) (records.VerifyReport, error)
	Tidy(ctx context.Context, progress func(done, total int)) (records.TidyReport, error)
	Untidy() bool
	SetAside() ([]records.Aside, error)
	TravelledDrafts() ([]records.TravelledDraft, error)
	HeadReads() int64
}

// Open opens the shop in a folder.
func Open(dir string, o Options) (*Desk, error) {
	shop, err := records.Open(dir)
	if err != nil {
		return nil, err
	}
	return At(shop, o), nil
}

// At is a desk at a shop that is open already.
func At(shop *records.Shop, o Options) *Desk { return &Desk{shop: shop, options: o} }

// Store is the shop beside its records.
func (d *Desk) Store() Store { return d.shop }

// Now is the time by the clock of this machine.
func (d *Desk) Now() time.Time { return d.options.Now() }

// Device is this machine.
func (d *Desk) Device() records.Device { return d.shop.Device() }

// CopySigner looks at the end of a copy's history before anything is read from
// it: who signed its last commit, and which that is. isCopy is false for a shop
// that is worked in.
func (d *Desk) CopySigner() (who signature.Member, commit string, isCopy bool, err error) {
	if !d.Device().Copy {
		return who, "", false, nil
	}
	who, commit, err = d.shop.HeadSigner()
	return who, commit, true, err
}

// Refresh looks at the shop again, for who stays. What was read is kept while
// nothing was committed.
func (d *Desk) Refresh() error {
	drafts, err := d.shop.Drafts()
	if err != nil {
		return err
	}
	view, err := d.shop.View()
	if err != nil {
		return err
	}
	if d.seen == nil || d.seen.view.Commit() != view.Commit() {
		d.seen = &look{view: view}
	}
	d.seen.drafts = drafts
	return nil
}

// forget makes the next reader look again: something was written, or time has
// passed.
func (d *Desk) forget() { d.seen = nil }

func (d *Desk) look() (*look, error) {
	if d.seen == nil {
		if err := d.Refresh(); err != nil {
			return nil, err
		}
	}
	return d.seen, nil
}

// View is the one commit of the shop that everything is answered from.
func (d *Desk) View() (records.View, error) {
	seen, err := d.look()
	if err != nil {
		return records.View{}, err
	}
	return seen.view, nil
}

// Facts are what rules may know beside a vehicle's record, without claims.
func (d *Desk) Facts() (schema.Shop, error) {
	seen, err := d.look()
	if err != nil {
		return schema.Shop{}, err
	}
	if seen.facts == nil {
		facts, err := seen.view.Facts()
		if err != nil {
			return schema.Shop{}, err
		}
		seen.facts = &facts
	}
	return *seen.facts, nil
}

// Own is the shop's own record: its people, bays and limits.
func (d *Desk) Own() (schema.Record, error) {
	facts, err := d.Facts()
	return facts.Record, err
}

// Sync exchanges records with a remote; see [records.Shop.Sync].
func (d *Desk) Sync(ctx context.Context, remote string, o records.SyncOptions) (records.SyncReport, error) {
	defer d.forget()
	return d.shop.Sync(ctx, remote, o)
}

// Adopt takes up the drafts of another machine; see [records.Shop.Adopt].
func (d *Desk) Adopt(device string) (int, error) {
	defer d.forget()
	return d.shop.Adopt(device)
}

func (d *Desk) warn(format string, args ...any) {
	if d.options.Warn != nil {
		d.options.Warn(format, args...)
	}
}

// progress begins to show a long thing, also to nobody.
func (d *Desk) progress(what string) func(done, total int) {
	if d.options.Progress != nil {
		if show := d.options.Progress(what); show != nil {
			return show
		}
	}
	return func(int, int) {}
}
