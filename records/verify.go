package records

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"strings"

	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/object"
	"github.com/go-git/go-git/v5/plumbing/storer"
	"golang.org/x/crypto/ssh"
)

// VerifyReport is what a verified history holds.
type VerifyReport struct {
	Head     string `json:"head"`
	Pinned   string `json:"pinned"` // fingerprint of the key that signed the first commit
	Commits  int    `json:"commits"`
	Records  int    `json:"records"`
	Entries  int    `json:"entries"`
	SignOffs int    `json:"sign_offs"`

	Forks []Fork `json:"forks"` // where a machine wrote two lines that did not see each other

	Evidence int       `json:"evidence"` // files
	Missing  []Missing `json:"missing"`  // files that are named and not there
}

// Fork is where a machine wrote without having seen what it wrote before, as after a restored backup or from a copied folder. Nothing is
// lost, and no rule takes one line for seen by the other.
type Fork struct {
	Path   string `json:"path"` // of the record
	Entry  string `json:"entry"`
	Device string `json:"device"`
}

// VerifyError names the first commit that breaks the history, and the file, entry and person as far as they are known.
type VerifyError struct {
	Commit string
	Path   string
	Entry  string
	Person string // who signed the commit
	Reason error

	follows *VerifyError // the fault that this commit builds on
}

func (e *VerifyError) Error() string {
	where := []string{"commit " + e.Commit}
	for _, part := range []struct{ name, value string }{{"signed by", e.Person}, {"in", e.Path}, {"entry", e.Entry}} {
		if part.value != "" {
			where = append(where, part.name+" "+part.value)
		}
	}
	return strings.Join(where, ", ") + ": " + e.Reason.Error()
}

func (e *VerifyError) Unwrap() error { return e.Reason }

// Verify walks the whole history from its root and proves that every commit is signed by a person whom the roster, as its parents hold it,
// allows each entry it adds; that each entry is signed by its author, with a key that was theirs at the commit that they had seen, which leads
// to the one that brings it; that what entries say they saw is there and older; that no entry of a parent is missing or changed; that entry
// ids are unique; that sign-offs are of exactly what they saw; that every file of evidence has the bytes of its hash; and that every object read is what its name says. The first fault is a *VerifyError. Progress may be nil.
func (s *Shop) Verify(ctx context.Context, progress func(done, total int)) (VerifyReport, error) {
	head, err := s.head()
	if err != nil {
		return VerifyReport{}, err
	}
	order, err := ancestry(s.store, head, everything)
	if err != nil {
		return VerifyReport{}, err
	}
	v := newVerifier(s.store, s.device.Pinned)
	for i, hash := range order {
		if err := ctx.Err(); err != nil {
			return v.report, err
		}
		if err := v.commit(hash); err != nil {
			return v.report, err
		}
		if progress != nil {
			progress(i+1, len(order))
		}
	}
	v.report.Head, v.report.Evidence, v.report.Missing = head.String(), len(v.kept), v.missing()
	return v.report, nil
}

// verifier checks commits, parents first.
type verifier struct {
	store   storer.EncodedObjectStorer
	pinned  string // fingerprint that the first commit must have, empty for any
	strict  bool   // what comes in is held to its schema, form and names too
	ids     *ids   // where the shop's entries stand; nil when all are walked
	report  VerifyReport
	fresh   map[string]placed               // entries of the commit that is being checked
	trees   map[plumbing.Hash]plumbing.Hash // commit to its folder
	keys    map[plumbing.Hash]ssh.PublicKey // commit to the key that signed it
	rosters map[string]signature.Roster     // by the shop records they come from
	entries map[string]placed
	proofs  *proofs
	hashes  map[string]schema.Hashes // by record
	stands  []plumbing.Hash          // parents of the commit that is being checked
	recent  map[plumbing.Hash]schema.Record
	names   []Missing       // files of evidence that entries rest on
	kept    map[string]bool // those that are there
}

// placed is where an entry stands and what it says.
type placed struct {
	path    string
	sum     [sha256.Size]byte
	signOff bool
}

// recentRecords bounds the decoded records that are kept for the next commit to the same record.
const recentRecords = 256

func newVerifier(store storer.EncodedObjectStorer, pinned string) *verifier {
	return &verifier{
		store: store, pinned: pinned,
		trees: map[plumbing.Hash]plumbing.Hash{}, rosters: map[string]signature.Roster{},
		entries: map[string]placed{}, fresh: map[string]placed{}, keys: map[plumbing.Hash]ssh.PublicKey{}, recent: map[plumbing.Hash]schema.Record{},
		names: []Missing{}, kept: map[string]bool{}, proofs: newProofs(store), hashes: map[string]schema.Hashes{}, report: VerifyReport{Forks: []Fork{}},
	}
}

// commit checks one commit whose parents have been checked.
func (v *verifier) commit(hash plumbing.Hash) error {
	c, err := readCommit(v.store, hash)
	if err != nil {
		return &VerifyError{Commit: hash.String(), Reason: err}
	}
	fault := VerifyError{Commit: hash.String()}
	clear(v.fresh)
	if err := v.check(c, &fault); err != nil {
		fault.Reason = err
		return &fault
	}
	v.settle()
	v.trees[hash] = c.TreeHash
	v.report.Commits++
	return nil
}

// check fills in where the fault is as it learns it.
func (v *verifier) check(c *object.Commit, fault *VerifyError) error {
	key, err := commitKey(c)
	if err != nil {
		return err
	}
	v.keys[c.Hash], v.stands = key, c.ParentHashes
	v.proofs.commits[c.Hash] = nodeOf(c)
	if len(c.ParentHashes) == 0 {
		if err := v.checkRoot(signature.Fingerprint(key)); err != nil {
			return err
		}
	}
	roster, err := v.roster(c)
	if err != nil {
		return err
	}
	signer, err := roster.Signer(key)
	fault.Person = signer.Person
	if err != nil {
		return err
	}
	if other, known := roster.Member(c.Author.Email); known && other.Person != signer.Person {
		return fmt.Errorf("names %s as its author and is signed by %s", other.Person, signer.Person)
	}
	files, err := v.changes(c)
	if err != nil {
		return err
	}
	for _, f := range files {
		fault.Path = f.path
		if v.strict {
			if err := v.checkName(c.TreeHash, f); err != nil {
				return err
			}
		}
		if err := v.checkFile(f, roster, fault); err != nil {
			if fault.Entry == "" {
				fault.Entry = v.namedBy(files, f.path)
			}
			return err
		}
	}
	fault.Path = ""
	return nil
}

// checkRoot allows one beginning, by the pinned key.
func (v *verifier) checkRoot(fingerprint string) error {
	if v.report.Pinned != "" {
		return errors.New("is a second beginning: a shop has one")
	}
	if v.pinned != "" && v.pinned != fingerprint {
		return fmt.Errorf("begins the shop with key %s, and this machine has pinned %s: this is another shop", fingerprint, v.pinned)
	}
	v.report.Pinned = fingerprint
	return nil
}

// roster is who was in the shop when the commit was made: as its parents hold it, or for the first commit as it itself says.
func (v *verifier) roster(c *object.Commit) (signature.Roster, error) {
	roots, err := v.parentTrees(c)
	if err != nil {
		return signature.Roster{}, err
	}
	if len(roots) == 0 {
		roots = []plumbing.Hash{c.TreeHash}
	}
	var id strings.Builder
	var blobs []plumbing.Hash
	for _, root := range roots {
		entry, err := snapshot{store: v.store, root: root}.lookup(shopFile)
		if err != nil {
			return signature.Roster{}, err
		}
		blobs = append(blobs, entry.Hash)
		id.WriteString(entry.Hash.String())
	}
	if known, ok := v.rosters[id.String()]; ok {
		return known, nil
	}
	var all schema.Record
	for _, blob := range blobs {
		r, err := v.record(shopFile, blob)
		if err != nil {
			return signature.Roster{}, err
		}
		all = all.With(r.Entries...)
	}
	v.rosters[id.String()] = signature.NewRoster(all)
	return v.rosters[id.String()], nil
}

// parentTrees is the folders of a commit's parents; a parent that was not checked here is taken as it is.
func (v *verifier) parentTrees(c *object.Commit) ([]plumbing.Hash, error) {
	var trees []plumbing.Hash
	for _, p := range c.ParentHashes {
		if _, known := v.trees[p]; !known {
			parent, err := readCommit(v.store, p)
			if err != nil {
				return nil, err
			}
			v.trees[p] = parent.TreeHash
		}
		trees = append(trees, v.trees[p])
	}
	return trees, nil
}

// changed is a file that differs from that of a parent.
type changed struct {
	path   string
	after  object.TreeEntry
	before []object.TreeEntry // in the parents that differ
	kept   bool               // a parent has the very same
}

// changes lists the files that differ from any parent, in the order they are met.
func (v *verifier) changes(c *object.Commit) ([]*changed, error) {
	parents, err := v.parentTrees(c)
	if err != nil {
		return nil, err
	}
	if len(parents) == 0 {
		parents = []plumbing.Hash{plumbing.ZeroHash}
	}
	var files []*changed
	known := map[string]*changed{}
	for _, root := range parents {
		err := diff(v.store, "", root, c.TreeHash, func(p string, before, after object.TreeEntry) error {
			f := known[p]
			if f == nil {
				f = &changed{path: p, after: after}
				known[p] = f
				files = append(files, f)
			}
			f.before = append(f.before, before)
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	for _, f := range files {
		f.kept = len(f.before) < len(parents)
	}
	return files, nil
}

func (v *verifier) checkFile(f *changed, roster signature.Roster, fault *VerifyError) error {
	switch {
	case f.after.Hash.IsZero():
		return errors.New("is removed: records are kept for ever")
	case f.path == attributesFile:
		return v.checkContent(f, func(content []byte) bool { return string(content) == attributes })
	case strings.HasPrefix(f.path, evidenceDir+"/"):
		return v.checkEvidence(f)
	}
	return v.checkRecordFile(f, roster, fault)
}

func (v *verifier) checkContent(f *changed, right func([]byte) bool) error {
	content, err := readBlob(v.store, f.after.Hash)
	if err == nil && !right(content) {
		err = errors.New("has a content that does not belong there")
	}
	return err
}

// checkRecordFile holds a record to each parent's and each new entry to the roster.
func (v *verifier) checkRecordFile(f *changed, roster signature.Roster, fault *VerifyError) error {
	after, err := v.grown(f)
	if err != nil {
		return err
	}
	if right, err := recordPath(after.Kind, after.ID); err != nil || right != f.path {
		return fmt.Errorf("holds the record of %s %s, which does not belong there", after.Kind, after.ID)
	}
	var before schema.Record
	for _, old := range f.before {
		if old.Hash.IsZero() {
			continue
		}
		r, err := v.record(f.path, old.Hash)
		if err != nil {
			return err
		}
		if err := appendOnly(r, after, fault); err != nil {
			return err
		}
		before = r.With(before.Entries...)
	}
	if f.kept {
		return nil
	}
	if before.ID == "" {
		v.report.Records++
		before = schema.NewRecord(after.Kind, after.ID)
	}
	if v.strict {
		if err := v.checkForm(f, before, after); err != nil {
			return err
		}
	}
	return v.checkNew(f.path, before, after, roster, fault)
}

// grown reads a changed record, of which only the lines are decoded that its older state does not have.
func (v *verifier) grown(f *changed) (schema.Record, error) {
	if known, ok := v.recent[f.after.Hash]; ok || f.before[0].Hash.IsZero() {
		if ok {
			return known, nil
		}
		return v.record(f.path, f.after.Hash)
	}
	older, err := v.record(f.path, f.before[0].Hash)
	if err != nil {
		return older, err
	}
	content, err := readBlob(v.store, f.after.Hash)
	if err != nil {
		return older, fmt.Errorf("%s: %w", f.path, err)
	}
	r, err := schema.DecodeGrown(content, older)
	if newer := (*schema.TooNewError)(nil); err != nil && !errors.As(err, &newer) {
		return r, fmt.Errorf("%s: %w", f.path, err)
	}
	v.remember(f.after.Hash, r)
	return r, nil
}

// appendOnly holds a record to an older state: the same record, every entry there, byte for byte.
func appendOnly(before, after schema.Record, fault *VerifyError) error {
	if before.ID != after.ID || before.Kind != after.Kind || before.Version > after.Version {
		return fmt.Errorf("turns %s %s version %d into %s %s version %d", before.Kind, before.ID, before.Version, after.Kind, after.ID, after.Version)
	}
	have := make(map[string]schema.Entry, len(after.Entries))
	for _, e := range after.Entries {
		have[e.ID] = e
	}
	for _, e := range before.Entries {
		now, there := have[e.ID]
		fault.Entry = e.ID
		if !there {
			return fmt.Errorf("drops the %s by %s", e.Kind, e.By)
		}
		if !bytes.Equal(now.Raw(), e.Raw()) {
			return fmt.Errorf("changes the %s by %s after it was written", e.Kind, e.By)
		}
	}
	fault.Entry = ""
	return nil
}

// checkNew holds the entries that no parent has to the roster, to the ids of all others, and to what they say of themselves.
func (v *verifier) checkNew(p string, before, after schema.Record, roster signature.Roster, fault *VerifyError) error {
	fresh := beyond(before, after)
	for _, e := range fresh {
		fault.Entry = e.ID
		if err := v.place(p, e); err != nil {
			return err
		}
		v.named(p, e)
	}
	fault.Entry = ""
	if err := v.checkArrival(p, after, fresh, fault); err != nil {
		return err
	}
	if v.strict {
		if err := checkRoom(after, fresh, roster, fault.Person); err != nil {
			return err
		}
	}
	for _, e := range fresh {
		fault.Entry = e.ID
		if err := checkEntry(roster, fault.Person, after, e); err != nil {
			return err
		}
	}
	fault.Entry = ""
	return nil
}

// checkArrival holds new entries to their authors' signatures and to what those had seen.
func (v *verifier) checkArrival(p string, after schema.Record, fresh []schema.Entry, fault *VerifyError) error {
	a := arrival{proofs: v.proofs, hashes: v.hashes[p], stands: v.stands}
	if a.hashes.Shop == "" {
		a.hashes = schema.HashesOf(after.Of(cmp.Or(v.report.Pinned, v.pinned)), nil)
		v.hashes[p] = a.hashes
	}
	if len(v.stands) == 0 {
		a.own = signature.NewRoster(after)
	}
	forks, err := a.check(after, fresh)
	if wrong := (*entryError)(nil); errors.As(err, &wrong) {
		fault.Entry, err = wrong.entry, wrong.reason
	}
	for _, f := range forks {
		e, _ := after.Entry(f.Entry)
		v.report.Forks = append(v.report.Forks, Fork{p, f.Entry, e.Device})
	}
	return err
}

// place notes where an entry stands. The same entry may come by two branches; another of its id may not.
func (v *verifier) place(p string, e schema.Entry) error {
	here := placed{path: p, sum: sha256.Sum256(e.Raw()), signOff: e.Kind == (schema.SignOffData{}).EntryKind()}
	for _, known := range []map[string]placed{v.entries, v.fresh} {
		if there, taken := known[e.ID]; taken && there != here {
			return fmt.Errorf("another entry of this id stands in %s", there.path)
		}
	}
	if v.ids != nil {
		if there, err := v.ids.place(e.ID); err != nil || there != "" && there != p {
			return errors.Join(err, fmt.Errorf("another entry of this id stands in %s", there))
		}
	}
	v.fresh[e.ID] = here
	return nil
}

// settle keeps the entries of a commit that is right.
func (v *verifier) settle() {
	for id, here := range v.fresh {
		if _, known := v.entries[id]; known {
			continue
		}
		v.entries[id] = here
		v.report.Entries++
		if here.signOff {
			v.report.SignOffs++
		}
	}
}

// record reads a record, also of a version this program does not know.
func (v *verifier) record(p string, blob plumbing.Hash) (schema.Record, error) {
	if known, ok := v.recent[blob]; ok {
		return known, nil
	}
	r, err := snapshot{store: v.store}.anyRecordBlob(p, blob)
	if err != nil {
		return r, err
	}
	v.remember(blob, r)
	return r, nil
}

func (v *verifier) remember(blob plumbing.Hash, r schema.Record) {
	if len(v.recent) >= recentRecords {
		clear(v.recent)
	}
	v.recent[blob] = r
}
