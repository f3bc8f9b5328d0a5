package records

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path"
	"slices"
	"strings"
	"time"

	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/filemode"
	"github.com/go-git/go-git/v5/plumbing/object"
	"github.com/go-git/go-git/v5/plumbing/storer"
)

// draftRefs hold what each device has in its drafts, so that a dead laptop loses nothing that was synced. Each is one commit without a
// parent, signed by who synced: a file of entries for each car, and the evidence that they name.
const draftRefs = "refs/drafts/"

const draftExt = ".jsonl"

// TravelledDraft is what another device had in its drafts when it last synced, without what the record holds by now.
type TravelledDraft struct {
	Device  string         `json:"device"`
	By      string         `json:"by"` // who synced
	When    time.Time      `json:"when"`
	Entries map[string]int `json:"entries"` // vehicle to how many
}

// ownDrafts is a commit of this machine's drafts as they are, or zero when there are none and never were.
func (x *exchange) ownDrafts() (plumbing.Hash, error) {
	ref := plumbing.ReferenceName(draftRefs + x.device.Name)
	all, err := readRefs(x.git)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	root, err := x.draftTree()
	if err != nil {
		return plumbing.ZeroHash, err
	}
	last := all[ref]
	if !last.IsZero() {
		c, err := readCommit(x.store, last)
		if err == nil && c.TreeHash == root {
			return last, nil
		}
	} else if root == emptyTree {
		return plumbing.ZeroHash, nil
	}
	return x.keepDrafts(move{ref: ref, old: last}, root)
}

// emptyTree is git's name of a folder without files.
var emptyTree = plumbing.ComputeHash(plumbing.TreeObject, nil)

// draftTree writes this machine's drafts as a folder.
func (x *exchange) draftTree() (plumbing.Hash, error) {
	vehicles, err := x.Drafts()
	if err != nil {
		return plumbing.ZeroHash, err
	}
	root, err := writeTree(x.store, nil)
	for _, vehicle := range vehicles {
		if err != nil {
			return root, err
		}
		root, err = x.addDraft(root, vehicle)
	}
	return root, err
}

func (x *exchange) addDraft(root plumbing.Hash, vehicle string) (plumbing.Hash, error) {
	entries, err := x.Draft(vehicle)
	if err != nil || len(entries) == 0 {
		return root, err
	}
	if root, err = x.commitEvidence(root, entries); err != nil {
		return root, err
	}
	return x.writeText(root, vehicle+draftExt, draftLines(entries))
}

// countDrafts adds up the entries in this machine's drafts.
func (x *exchange) countDrafts() error {
	vehicles, err := x.Drafts()
	x.report.Kept = 0
	for _, vehicle := range vehicles {
		entries, err := x.Draft(vehicle)
		if err != nil {
			return err
		}
		x.report.Kept += len(entries)
	}
	return err
}

// draftLines is entries as they stand in a draft, one a line.
func draftLines(entries []schema.Entry) []byte {
	var lines bytes.Buffer
	for _, e := range entries {
		lines.Write(e.Raw())
		lines.WriteByte('\n')
	}
	return lines.Bytes()
}

// keepDrafts signs a folder of drafts and keeps it under this device's reference.
func (x *exchange) keepDrafts(m move, root plumbing.Hash) (plumbing.Hash, error) {
	if err := x.needKey(); err != nil {
		x.report.Stayed = err.Error()
		return m.old, nil
	}
	snap, _, err := x.snapshot()
	if err != nil {
		return plumbing.ZeroHash, err
	}
	signer, err := change{by: x.By, key: x.key}.checkPeople(snap, schema.Record{}, nil)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	who := author(signer.PersonData, x.now())
	m.new, err = writeCommit(x.store, &object.Commit{Author: who, Committer: who, Message: "drafts of " + x.device.Name + "\n", TreeHash: root}, x.key)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	return m.new, x.keepRef(m)
}

// keepRef moves a reference of this shop.
func (x *exchange) keepRef(m move) error {
	if err := x.fresh.Sync(); err != nil {
		return err
	}
	release, err := x.lock(context.Background(), gitDir)
	if err != nil {
		return err
	}
	defer release()
	return moveRef(x.git, m)
}

// takeDrafts keeps what other devices have in their drafts, when it is signed by somebody of this shop and can be read.
func (x *exchange) takeDrafts(ctx context.Context, theirs refs, from storer.EncodedObjectStorer) error {
	mine, err := readRefs(x.git)
	if err != nil {
		return err
	}
	store := overlay{x.store, from}
	for _, ref := range draftTips(theirs, x.device.Name) {
		tip := theirs[ref]
		if mine[ref] == tip {
			continue
		}
		if fault := x.checkDrafts(store, tip); fault != nil {
			found := judged{bad: map[plumbing.Hash]*VerifyError{tip: fault}, kept: []plumbing.Hash{tip}}
			aside, err := x.setAside(store, found, []plumbing.Hash{tip})
			if err != nil {
				return err
			}
			x.report.Aside = append(x.report.Aside, aside...)
			continue
		}
		objects, err := addedObjects(store, []plumbing.Hash{tip})
		if err != nil {
			return err
		}
		if err := send(ctx, x.Shop, store, objects, nil); err != nil {
			return err
		}
		if err := x.keepRef(move{ref: ref, old: mine[ref], new: tip}); err != nil {
			return err
		}
		x.report.Drafts = append(x.report.Drafts, strings.TrimPrefix(string(ref), draftRefs))
	}
	return nil
}

// draftTips lists the references of other devices' drafts, in order.
func draftTips(theirs refs, own string) []plumbing.ReferenceName {
	var names []plumbing.ReferenceName
	for name := range theirs {
		device, is := strings.CutPrefix(string(name), draftRefs)
		if is && device != own && schema.ValidID(device) {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names
}

// checkDrafts judges drafts that come in.
func (x *exchange) checkDrafts(store storer.EncodedObjectStorer, tip plumbing.Hash) *VerifyError {
	fault := &VerifyError{Commit: tip.String()}
	c, err := readCommit(store, tip)
	if err != nil {
		fault.Reason = errors.New("is promised, and cannot be read there")
		return fault
	}
	if fault.Reason = x.checkDraftSigner(c, fault); fault.Reason != nil {
		return fault
	}
	fault.Reason = diff(store, "", plumbing.ZeroHash, c.TreeHash, func(p string, _, e object.TreeEntry) error {
		fault.Path = p
		if strings.HasPrefix(p, evidenceDir+"/") {
			return (&verifier{store: store, kept: map[string]bool{}}).checkEvidence(&changed{path: p, after: e})
		}
		_, err := readTravelled(store, p, e)
		return err
	})
	if fault.Reason != nil {
		return fault
	}
	return nil
}

func (x *exchange) checkDraftSigner(c *object.Commit, fault *VerifyError) error {
	if len(c.ParentHashes) > 0 {
		return errors.New("drafts build on nothing, and this does")
	}
	key, err := commitKey(c)
	if err != nil {
		return err
	}
	roster, err := x.Roster()
	if err != nil {
		return err
	}
	signer, err := roster.Signer(key)
	fault.Person = signer.Person
	return err
}

// readTravelled reads the entries of one car.
func readTravelled(store storer.EncodedObjectStorer, p string, e object.TreeEntry) ([]schema.Entry, error) {
	vehicle := strings.TrimSuffix(p, draftExt)
	if path.Ext(p) != draftExt || !schema.ValidID(vehicle) || e.Mode != filemode.Regular {
		return nil, errors.New("is no draft of a car")
	}
	content, err := readBlob(store, e.Hash)
	if err != nil {
		return nil, err
	}
	r := schema.NewRecord(schema.VehicleRecord, vehicle)
	for line := range bytes.Lines(content) {
		entry, err := schema.DecodeEntry(bytes.TrimSuffix(line, []byte("\n")))
		if err != nil {
			return nil, err
		}
		r = r.With(entry)
	}
	return r.Entries, r.ValidateKnown()
}

// TravelledDrafts lists what other devices had in their drafts and no record holds yet.
func (s *Shop) TravelledDrafts() ([]TravelledDraft, error) {
	list := []TravelledDraft{}
	mine, err := readRefs(s.git)
	if err != nil {
		return nil, err
	}
	for _, ref := range draftTips(mine, s.device.Name) {
		c, err := readCommit(s.store, mine[ref])
		if err != nil {
			return nil, err
		}
		d := TravelledDraft{Device: strings.TrimPrefix(string(ref), draftRefs), By: c.Author.Email, When: c.Author.When, Entries: map[string]int{}}
		err = s.travelled(c, func(vehicle string, entries []schema.Entry) error {
			d.Entries[vehicle] = len(entries)
			return nil
		})
		if err != nil {
			return nil, err
		}
		if len(d.Entries) > 0 {
			list = append(list, d)
		}
	}
	return list, nil
}

// OtherDraft is what another machine had in its draft of one car when it last synced, without what the record holds by now.
type OtherDraft struct {
	Device  string
	By      string // who synced
	When    time.Time
	Entries []schema.Entry
	Doubts  map[string]string // as in schema.Record, of these entries
}

// OtherDrafts are the drafts of a car that came with a sync, by device: nobody has committed what they say, and it may be that it leaks. What
// this machine adopted is its own.
func (s *Shop) OtherDrafts(vehicle string) ([]OtherDraft, error) {
	mine, err := readRefs(s.git)
	if err != nil {
		return nil, err
	}
	var all []OtherDraft
	for _, ref := range draftTips(mine, s.device.Name) {
		c, err := readCommit(s.store, mine[ref])
		if err != nil {
			return nil, err
		}
		d := OtherDraft{Device: strings.TrimPrefix(string(ref), draftRefs), By: c.Author.Email, When: c.Author.When}
		if d.Entries, err = s.otherDraft(c, vehicle); err != nil {
			return nil, fmt.Errorf("drafts of %s: %w", d.Device, err)
		}
		if len(d.Entries) == 0 {
			continue
		}
		if d.Doubts, err = s.doubtsOf(vehicle, d.Entries); err != nil {
			return nil, err
		}
		all = append(all, d)
	}
	return all, nil
}

// otherDraft is the entries of one car in a commit of drafts that neither its record nor this machine's draft has.
func (s *Shop) otherDraft(c *object.Commit, vehicle string) ([]schema.Entry, error) {
	file, err := snapshot{store: s.store, root: c.TreeHash}.lookup(vehicle + draftExt)
	if err != nil || file.Hash.IsZero() {
		return nil, err
	}
	entries, err := readTravelled(s.store, vehicle+draftExt, file)
	if err != nil {
		return nil, err
	}
	own, err := s.Show(schema.VehicleRecord, vehicle)
	return beyond(own.Record, schema.Record{Entries: entries}), err
}

// doubtsOf are the doubts about entries that stand beside a car's record.
func (s *Shop) doubtsOf(vehicle string, entries []schema.Entry) (map[string]string, error) {
	view, err := s.View()
	if err != nil {
		return nil, err
	}
	r, err := view.snap.record(schema.VehicleRecord, vehicle)
	if none := (*NotFoundError)(nil); errors.As(err, &none) {
		r, err = schema.NewRecord(schema.VehicleRecord, vehicle), nil
	}
	if err != nil {
		return nil, err
	}
	whole, err := view.doubted(r.With(entries...))
	doubts := map[string]string{}
	for _, e := range entries {
		if reason, there := whole.Doubts[e.ID]; there {
			doubts[e.ID] = reason
		}
	}
	return doubts, err
}

// travelled visits the entries of a commit of drafts that are not in the record.
func (s *Shop) travelled(c *object.Commit, visit func(vehicle string, entries []schema.Entry) error) error {
	snap, _, err := s.snapshot()
	if err != nil {
		return err
	}
	tree, err := readTree(s.store, c.TreeHash)
	if err != nil {
		return err
	}
	for _, e := range tree.Entries {
		if e.Mode == filemode.Dir {
			continue
		}
		entries, err := readTravelled(s.store, e.Name, e)
		if err != nil {
			return fmt.Errorf("%s: %w", e.Name, err)
		}
		vehicle := strings.TrimSuffix(e.Name, draftExt)
		r, err := snap.record(schema.VehicleRecord, vehicle)
		if none := (*NotFoundError)(nil); err != nil && !errors.As(err, &none) {
			return err
		}
		if left := beyond(r, schema.Record{Entries: entries}); len(left) > 0 {
			if err := visit(vehicle, left); err != nil {
				return err
			}
		}
	}
	return nil
}

// Adopt puts what another device had in its drafts into this one's, with the evidence, and counts the entries. Entries keep their id: should
// the other device come back and commit them too, they are the same.
func (s *Shop) Adopt(device string) (int, error) {
	mine, err := readRefs(s.git)
	if err != nil {
		return 0, err
	}
	tip := mine[plumbing.ReferenceName(draftRefs+device)]
	if tip.IsZero() {
		return 0, fmt.Errorf("device %s: nothing of its drafts has come here", device)
	}
	c, err := readCommit(s.store, tip)
	if err != nil {
		return 0, err
	}
	adopted := 0
	err = s.travelled(c, func(vehicle string, entries []schema.Entry) error {
		draft, err := s.Draft(vehicle)
		if err != nil {
			return err
		}
		for _, e := range beyond(schema.Record{Entries: draft}, schema.Record{Entries: entries}) {
			if err := s.adoptEvidence(c, e); err != nil {
				return err
			}
			if err := s.Append(vehicle, e); err != nil {
				return err
			}
			adopted++
		}
		return nil
	})
	return adopted, err
}

// adoptEvidence keeps the files that an adopted entry names, as far as they travelled.
func (s *Shop) adoptEvidence(c *object.Commit, e schema.Entry) error {
	for _, sum := range EvidenceOf(e) {
		at, err := snapshot{store: s.store, root: c.TreeHash}.lookup(evidencePath(sum))
		if err != nil || at.Hash.IsZero() {
			return err
		}
		in, err := openBlob(s.store, at.Hash)
		if err != nil {
			return err
		}
		_, err = s.Keep(in)
		if closed := in.Close(); err == nil {
			err = closed
		}
		if err != nil {
			return err
		}
	}
	return nil
}
