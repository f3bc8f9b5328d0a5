package records

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/object"
	"golang.org/x/crypto/ssh"
)

// Gate judges a record as it would stand after a commit. It must be pure.
type Gate func(schema.Record, schema.Shop) []schema.Finding

// CommitRequest asks for a vehicle's draft to be put into its record.
type CommitRequest struct {
	Vehicle string
	By      string           // person id; Key must be theirs
	Key     ssh.Signer       //
	Gate    Gate             // nil for none
	Held    bool             // commit in spite of open findings; Extra then says that the car is held
	Extra   []schema.Entry   // entries that go in beside the draft
	Message string           // first line of the commit; empty for one that counts the entries
	Now     func() time.Time // nil for the clock
}

// CommitResult is what a commit did.
type CommitResult struct {
	Commit   string // hash
	Record   schema.Record
	Added    []schema.Entry
	Findings []schema.Finding // what the gate said, open or not
}

// Commit puts a vehicle's draft into its record: schema and roles first, then the gate, then one signed commit.
//
// It changes nothing and returns a *RefusedError when the gate leaves a finding open and the request is not Held, a *RoleError when a
// person may not write an entry, a *ConflictError when an entry's bytes differ from the record's, a *schema.InvalidError when one breaks the
// schema, ErrNothing without entries, and an error matching ErrBusy while another process writes.
func (s *Shop) Commit(ctx context.Context, req CommitRequest) (CommitResult, error) {
	release, err := s.lock(ctx, gitDir)
	if err != nil {
		return CommitResult{}, err
	}
	defer release()
	draft, err := s.Draft(req.Vehicle)
	if err != nil {
		return CommitResult{}, err
	}
	c := change{
		kind: schema.VehicleRecord, id: req.Vehicle, by: req.By, key: req.Key, entries: slices.Concat(draft, req.Extra), draft: draft,
		gate: req.Gate, open: schema.Finding.Open, held: req.Held, message: req.Message, now: req.Now,
	}
	return s.apply(c)
}

// SignOffRequest asks for a lead's sign-off to be put into a vehicle's record.
type SignOffRequest struct {
	Vehicle string
	By      string
	Key     ssh.Signer
	Gate    Gate
	Entry   schema.Entry // the signoff entry; its statement must be of the record as it is committed
	Now     func() time.Time
}

// SignOff commits a sign-off. Nothing may be left in the draft (*DraftError), and the gate, which sees the sign-off in the record, may leave
// no finding of FLAG or above unanswered (*RefusedError). The digest of the statement must be the record's.
func (s *Shop) SignOff(ctx context.Context, req SignOffRequest) (CommitResult, error) {
	release, err := s.lock(ctx, gitDir)
	if err != nil {
		return CommitResult{}, err
	}
	defer release()
	c := change{
		kind: schema.VehicleRecord, id: req.Vehicle, by: req.By, key: req.Key, entries: []schema.Entry{req.Entry},
		gate: req.Gate, open: unanswered, now: req.Now, draftless: true,
	}
	return s.apply(c)
}

// unanswered is what keeps a lead from signing off.
func unanswered(f schema.Finding) bool { return f.Severity >= schema.Flag && f.Answered == "" }

// Put adds entries to a record at once, without a draft or a gate: shop, gauge and part records, and a new vehicle's first entries. Roles
// and schema are checked as in Commit.
func (s *Shop) Put(ctx context.Context, kind schema.RecordKind, id, by string, key ssh.Signer, entries ...schema.Entry) (CommitResult, error) {
	return s.PutAt(ctx, nil, kind, id, by, key, entries...)
}

// PutAt is Put by another clock.
func (s *Shop) PutAt(ctx context.Context, now func() time.Time, kind schema.RecordKind, id, by string, key ssh.Signer, entries ...schema.Entry) (CommitResult, error) {
	release, err := s.lock(ctx, gitDir)
	if err != nil {
		return CommitResult{}, err
	}
	defer release()
	return s.apply(change{kind: kind, id: id, by: by, key: key, entries: entries, now: now})
}

// change is one commit to one record.
type change struct {
	kind      schema.RecordKind
	id, by    string
	key       ssh.Signer
	entries   []schema.Entry
	draft     []schema.Entry // those of them that were in the draft
	gate      Gate
	open      func(schema.Finding) bool // findings that refuse the commit
	held      bool
	draftless bool
	message   string
	now       func() time.Time
}

// apply checks and writes a change. The caller holds the lock of the repository.
func (s *Shop) apply(c change) (CommitResult, error) {
	if err := s.recover(); err != nil {
		return CommitResult{}, err
	}
	snap, head, err := s.snapshot()
	if err != nil {
		return CommitResult{}, err
	}
	if err := s.checkDraft(snap, c); err != nil {
		return CommitResult{}, err
	}
	before, err := snap.recordOrNew(c.kind, c.id)
	if err != nil {
		return CommitResult{}, err
	}
	added, err := additions(before, c.entries)
	if err != nil {
		return CommitResult{}, err
	}
	if len(added) == 0 {
		return CommitResult{}, s.nothing(head, c)
	}
	after := before.With(added...)
	signer, err := c.checkPeople(snap, after, added)
	if err != nil {
		return CommitResult{}, err
	}
	if err := checkRecord(before, after, added); err != nil {
		return CommitResult{}, err
	}
	if err := c.checkRoom(snap, after, added); err != nil {
		return CommitResult{}, err
	}
	if err := c.checkSawAll(after, added); err != nil {
		return CommitResult{}, err
	}
	if err := s.checkOwnLine(before.With(c.draft...), added); err != nil {
		return CommitResult{}, err
	}
	if err := s.checkNew(head, after, added); err != nil {
		return CommitResult{}, err
	}
	findings, err := c.judge(View{snap, head, s}, after)
	if err != nil {
		return CommitResult{}, err
	}
	commit, err := s.write(c, snap, head, after, added, signer)
	if err != nil {
		return CommitResult{}, err
	}
	return CommitResult{Commit: commit.String(), Record: after, Added: added, Findings: findings}, nil
}

// nothing settles a draft whose entries are all in the record already.
func (s *Shop) nothing(head plumbing.Hash, c change) error {
	if c.kind == schema.VehicleRecord {
		if err := s.settleDraft(c.id, s.settledAt(head, c.id)); err != nil {
			return err
		}
	}
	return ErrNothing
}

func (s *Shop) checkDraft(snap snapshot, c change) error {
	if !c.draftless {
		return nil
	}
	draft, err := s.Draft(c.id)
	if err == nil && len(draft) > 0 {
		err = &DraftError{Vehicle: c.id, Entries: len(draft)}
	}
	return err
}

// checkSawAll refuses a sign-off over a record that grew since it was read.
func (c change) checkSawAll(after schema.Record, added []schema.Entry) error {
	if !c.draftless {
		return nil
	}
	sight := schema.NewSight(after.Entries)
	for _, e := range added {
		if unseen := sight.Unseen(e.ID); len(unseen) > 0 {
			return &UnseenError{after.ID, unseen[0].ID}
		}
	}
	return nil
}

// recordOrNew reads a record, or begins it. A new id must differ from the others in more than case, or an ordinary clone on some systems
// would lose one of the two.
func (n snapshot) recordOrNew(kind schema.RecordKind, id string) (schema.Record, error) {
	r, err := n.record(kind, id)
	if missing := (*NotFoundError)(nil); !errors.As(err, &missing) {
		return r, err
	}
	p, err := recordPath(kind, id)
	if err != nil {
		return r, err
	}
	folder, err := n.lookup(p[:strings.LastIndex(p, "/")])
	if err != nil {
		return r, err
	}
	names, err := n.names(folder.Hash)
	for _, name := range names {
		if strings.EqualFold(name, id) {
			return r, fmt.Errorf("%s %s: differs from %s in case alone: choose another id", kind, id, name)
		}
	}
	return schema.NewRecord(kind, id), err
}

// additions is the entries that the record does not hold yet, each once.
func additions(r schema.Record, entries []schema.Entry) ([]schema.Entry, error) {
	var added []schema.Entry
	seen := schema.Record{}
	for _, e := range entries {
		for _, known := range []schema.Record{r, seen} {
			if _, there := known.Entry(e.ID); there && !holds(known, e) {
				return nil, &ConflictError{Entry: e.ID}
			}
		}
		if !holds(r, e) && !holds(seen, e) {
			added = append(added, e)
			seen.Entries = added
		}
	}
	return added, nil
}

// checkPeople holds the change to the roster: whose key it is, and who may write what.
func (c change) checkPeople(snap snapshot, after schema.Record, added []schema.Entry) (signature.Member, error) {
	roster, err := snap.roster()
	if err != nil {
		return signature.Member{}, err
	}
	signer, err := roster.Signer(c.key.PublicKey())
	if err == nil && signer.Person != c.by {
		err = fmt.Errorf("person %s: key %s is %s's", c.by, signature.Fingerprint(c.key.PublicKey()), signer.Person)
	}
	if err != nil {
		return signer, &RoleError{Person: c.by, Reason: err}
	}
	for _, e := range added {
		if err := checkEntry(roster, c.by, after, e); err != nil {
			return signer, err
		}
	}
	return signer, nil
}

// checkRecord holds what is new in a record to its schema, the record to its bounds, and the roster to one that works. What was in the
// record before was held to it when it came in.
func checkRecord(before, after schema.Record, added []schema.Entry) error {
	if err := schema.NewRecord(after.Kind, after.ID).With(added...).ValidateKnown(); err != nil {
		return err
	}
	if err := after.CheckSize(); err != nil {
		return err
	}
	if after.Kind != schema.ShopRecord {
		return nil
	}
	roster, known := signature.NewRoster(after), fmt.Sprint(signature.NewRoster(before).Problems())
	for _, problem := range roster.Problems() {
		if !strings.Contains(known, problem.Error()) {
			return problem
		}
	}
	if !slices.ContainsFunc(roster.Members(), func(m signature.Member) bool { return m.Active() && m.Has(schema.Lead) }) {
		return errors.New("roster: would have no lead left: add one first")
	}
	return nil
}

// checkNew holds new entries to what they say of themselves: their authors, and what those had seen.
func (s *Shop) checkNew(head plumbing.Hash, after schema.Record, added []schema.Entry) error {
	first, err := s.firstKey()
	if err != nil {
		return err
	}
	a := arrival{proofs: s.proofs, hashes: schema.HashesOf(after.Of(first), nil), stands: []plumbing.Hash{head}}
	_, err = a.check(after, added)
	return err
}

// judge runs the gate.
func (c change) judge(view View, after schema.Record) ([]schema.Finding, error) {
	if c.gate == nil {
		return nil, nil
	}
	facts, err := view.Facts()
	if err != nil {
		return nil, err
	}
	if after, err = view.doubted(after); err != nil {
		return nil, err
	}
	findings := c.gate(after, facts)
	var open []schema.Finding
	for _, f := range findings {
		if c.open(f) {
			open = append(open, f)
		}
	}
	if len(open) > 0 && !c.held {
		return findings, &RefusedError{Findings: open}
	}
	return findings, nil
}

// write makes the commit and moves the branch. From then on the change is done, whatever happens to the draft: the next writer settles it.
func (s *Shop) write(c change, snap snapshot, head plumbing.Hash, after schema.Record, added []schema.Entry, signer signature.Member) (plumbing.Hash, error) {
	p, err := recordPath(c.kind, c.id)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	root, err := s.commitEvidence(snap.root, added)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	if root, err = s.writeText(root, p, after.Encode()); err != nil {
		return plumbing.ZeroHash, err
	}
	now := time.Now
	if c.now != nil {
		now = c.now
	}
	who := author(signer.PersonData, now())
	commit, err := writeCommit(s.store, &object.Commit{
		Author: who, Committer: who, Message: c.text(added), TreeHash: root, ParentHashes: []plumbing.Hash{head},
	}, c.key)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	done := moving{To: commit.String()}
	if c.kind == schema.VehicleRecord {
		done.Vehicle = c.id
	}
	if err := s.moveHead(head, done); err != nil {
		return plumbing.ZeroHash, err
	}
	_ = s.finish(done, func() (settled, error) { return settled{snapshot{store: s.store, root: root}, after}, nil })
	return commit, nil
}

// text is the message of the commit: what the caller says, or how many entries of which kind.
func (c change) text(added []schema.Entry) string {
	if line := strings.TrimSpace(c.message); line != "" {
		return line + "\n"
	}
	counts := map[string]int{}
	var kinds []string
	for _, e := range added {
		if counts[e.Kind]++; counts[e.Kind] == 1 {
			kinds = append(kinds, e.Kind)
		}
	}
	for i, k := range kinds {
		kinds[i] = fmt.Sprintf("%d %s", counts[k], k)
	}
	return fmt.Sprintf("%s %s: %s\n", c.kind, c.id, strings.Join(kinds, ", "))
}
