package records

import (
	"fmt"
	"time"

	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"golang.org/x/crypto/ssh"
)

// Shown is a record as it stands on a screen, with this machine's draft: what whoever writes then has seen. A form that was drawn from one
// and is sent after more has come still says no more than that.
type Shown struct {
	Record schema.Record
	Head   string // commit on which it stands
}

// With is what is shown once these entries are there too.
func (n Shown) With(entries ...schema.Entry) Shown {
	n.Record = n.Record.With(entries...)
	return n
}

// Show reads a record to be shown, with this machine's draft. One that is not in the shop yet is empty.
func (s *Shop) Show(kind schema.RecordKind, id string) (Shown, error) {
	v, err := s.View()
	if err != nil {
		return Shown{}, err
	}
	return v.Show(kind, id)
}

// Fact is what somebody writes down.
type Fact struct {
	ID      string // of the entry, empty for a new one
	By      string // person id; Key must be theirs
	Key     ssh.Signer
	At      time.Time // when it happened; zero for when it is typed
	Entered time.Time // when it is typed
	Data    schema.Data
}

// Write makes entries of facts, each of which has seen what was shown and the facts before it, and signs them with their authors' keys. They
// are in no draft and no record yet.
//
// Errors: a *schema.InvalidError, a *RoleError when the key is not the author's, and a time that cannot be.
func (s *Shop) Write(seen Shown, facts ...Fact) ([]schema.Entry, error) {
	first, err := s.firstKey()
	if err != nil {
		return nil, err
	}
	roster, err := s.proofs.rosterAt(plumbing.NewHash(seen.Head))
	if err != nil {
		return nil, err
	}
	w := newWriter(seen, first, s.device.Name)
	var entries []schema.Entry
	for _, f := range facts {
		if err := checkHand(roster, f); err != nil {
			return nil, err
		}
		if err := s.checkTimes(f); err != nil {
			return nil, err
		}
		e, err := w.write(f)
		if err != nil {
			return nil, err
		}
		entries = append(entries, e)
	}
	return entries, nil
}

// checkHand holds a key to its owner, so that nobody types what would not be proven.
func checkHand(roster signature.Roster, f Fact) error {
	owner, err := roster.Signer(f.Key.PublicKey())
	if err == nil && owner.Person != f.By {
		err = fmt.Errorf("person %s: key %s is %s's", f.By, signature.Fingerprint(f.Key.PublicKey()), owner.Person)
	}
	if err != nil {
		return &RoleError{Person: f.By, Reason: err}
	}
	return nil
}

// clockDoubt is how far clocks of one shop may differ without a word.
const clockDoubt = 2 * time.Minute

// checkTimes refuses what happens later than it is typed.
func (s *Shop) checkTimes(f Fact) error {
	if f.At.After(f.Entered.Add(clockDoubt)) {
		return fmt.Errorf("%s: happens at %s, and it is only %s: give the time it happened", f.Data.EntryKind(), f.At.UTC().Format(time.RFC3339), f.Entered.UTC().Format(time.RFC3339))
	}
	return nil
}

// writer signs entries of one record, each after the ones before it.
type writer struct {
	device string
	head   string
	after  []string
	last   int64 // highest counter of after
	hashes schema.Hashes
}

func newWriter(seen Shown, shop, device string) *writer {
	after := schema.Heads(seen.Record.Entries)
	return &writer{
		device: device, head: seen.Head, after: after, last: schema.NextCounter(seen.Record.Entries, after) - 1,
		hashes: schema.HashesOf(seen.Record.Of(shop), seen.Record.Entries),
	}
}

func (w *writer) write(f Fact) (schema.Entry, error) {
	e, err := schema.NewEntry(schema.Origin{
		ID: f.ID, By: f.By, Device: w.device, After: w.after, Head: w.head, Counter: w.last + 1, At: f.At, Entered: f.Entered,
	}, f.Data)
	if err != nil {
		return e, err
	}
	message, err := w.hashes.Sign(e)
	if err != nil {
		return e, err
	}
	sig, err := signature.SignEntry(message, f.Key)
	if err != nil {
		return e, err
	}
	if e, err = e.Signed(sig); err != nil {
		return e, err
	}
	w.hashes.Add(e)
	w.after, w.last = []string{e.ID}, e.Counter
	return e, schema.ValidateEntry(w.hashes.Kind, w.hashes.ID, e)
}

// UnseenError says that a record grew since it was shown to the writer of an entry who must have seen it: another window of this machine
// was quicker, or a sync.
type UnseenError struct {
	Record string
	Entry  string // the first of two lines that did not see the other
}

func (e *UnseenError) Error() string {
	return fmt.Sprintf("%s: has grown since it was shown (entry %s): look again and write it once more", e.Record, e.Entry)
}

// checkOwnLine holds new entries of this machine to what it wrote before: it begins no second line in a record.
func (s *Shop) checkOwnLine(r schema.Record, added []schema.Entry) error {
	added = beyond(r, schema.Record{Entries: added})
	if len(added) == 0 {
		return nil
	}
	forks := map[string]bool{}
	for _, f := range schema.NewSight(r.Entries).Faults() {
		forks[f.Entry] = f.Fork
	}
	whole := r.With(added...)
	for _, f := range schema.NewSight(whole.Entries).Faults() {
		if e, _ := whole.Entry(f.Entry); f.Fork && !forks[f.Entry] && e.Device == s.device.Name {
			return &UnseenError{r.ID, f.Entry}
		}
	}
	return nil
}
