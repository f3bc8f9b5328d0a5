// Package examples signs the example records of the format anew, before they
// are frozen: after a change of the format, edit the data of an example by hand
// and run it.
//
// Start with [Run]. What the entries say is kept; what their writers had seen is
// filled in where it is missing; keys and signatures are made from the names of
// people, so that the same examples come out each time. Frozen examples are
// never touched again. What is deliberately absent: any key that is used.
package examples

import (
	"crypto/ed25519"
	"crypto/sha1"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"time"

	"feedproof/records/signature"
	"feedproof/schema"

	"golang.org/x/crypto/ssh"
)

// document is an example as it is read: also one that is not yet what the
// program would take.
type document struct {
	Record  schema.RecordKind
	ID      string
	Entries []*line
}

type line struct {
	After          []string
	At, Entered    time.Time
	By, Device, ID string
	Kind           string
	Data           map[string]any
	counter        int64
}

// Run signs the examples in a folder.
func Run(args []string, out io.Writer) error {
	if len(args) != 1 {
		return fmt.Errorf("examples: want the folder, such as testdata/formats/v1, got %q", args)
	}
	e := &examples{keys: map[string]owned{}, byName: map[string][]owned{}}
	for _, kind := range []schema.RecordKind{schema.ShopRecord, schema.VehicleRecord, schema.GaugeRecord, schema.PartRecord} {
		path := filepath.Join(args[0], string(kind)+".json")
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		r, err := e.again(text)
		if err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
		if err := os.WriteFile(path, r.Encode(), 0o644); err != nil {
			return err
		}
		sum := sha256.Sum256(r.Encode())
		fmt.Fprintf(out, "%s %s, %d entries\n", hex.EncodeToString(sum[:]), kind, len(r.Entries))
	}
	return nil
}

// examples are the shop that all of them are of.
type examples struct {
	first  string             // fingerprint of the first key
	keys   map[string]owned   // by the line that stood there
	byName map[string][]owned // of each person, oldest first
}

// owned is a key and from when it is somebody's.
type owned struct {
	key  ssh.Signer
	from time.Time
}

func (x *examples) again(text []byte) (schema.Record, error) {
	var d document
	if err := json.Unmarshal(text, &d); err != nil {
		return schema.Record{}, err
	}
	r := schema.NewRecord(d.Record, d.ID)
	for i, l := range d.Entries {
		if l.After == nil {
			l.After = seenBefore(d.Entries[:i], l)
		}
		for _, seen := range d.Entries[:i] {
			if slices.Contains(l.After, seen.ID) {
				l.counter = max(l.counter, seen.counter)
			}
		}
		l.counter++
		if err := x.rekey(l); err != nil {
			return r, err
		}
		e, err := x.entry(r, l)
		if err != nil {
			return r, fmt.Errorf("entry %s: %w", l.ID, err)
		}
		r = r.With(e)
	}
	return r, r.Validate()
}

// seenBefore is what a line saw of those before it: the last, but for the one of
// a bay that was apart, which did not see the last.
func seenBefore(before []*line, l *line) []string {
	const apart = "bay-1"
	n := len(before)
	switch {
	case n == 0:
		return []string{}
	case l.Device == apart && n > 1:
		return []string{before[n-2].ID}
	case before[n-1].Device == apart && n > 1:
		return slices.Sorted(slices.Values([]string{before[n-1].ID, before[n-2].ID}))
	}
	return []string{before[n-1].ID}
}

// rekey puts a key of ours in place of the one that stands there.
func (x *examples) rekey(l *line) error {
	text, there := l.Data["key"].(string)
	person, _ := l.Data["person"].(string)
	if !there {
		return nil
	}
	if _, known := x.keys[text]; !known {
		seed := sha256.Sum256(fmt.Appendf(nil, "key %d of %s, in an example", len(x.byName[person]), person))
		key, err := ssh.NewSignerFromKey(ed25519.NewKeyFromSeed(seed[:]))
		if err != nil {
			return err
		}
		x.keys[text] = owned{key, l.Entered}
		x.byName[person] = append(x.byName[person], x.keys[text])
		if x.first == "" {
			x.first = signature.Fingerprint(key.PublicKey())
		}
	}
	l.Data["key"] = signature.KeyLine(x.keys[text].key.PublicKey())
	return nil
}

// keyOf is the key that a person had at a moment.
func (x *examples) keyOf(person string, at time.Time) (ssh.Signer, error) {
	for _, o := range slices.Backward(x.byName[person]) {
		if !o.from.After(at) {
			return o.key, nil
		}
	}
	return nil, fmt.Errorf("person %s: has no key at %s", person, at)
}

// entry signs a line as the next of a record.
func (x *examples) entry(r schema.Record, l *line) (schema.Entry, error) {
	key, err := x.keyOf(l.By, l.Entered)
	if err != nil {
		return schema.Entry{}, err
	}
	if l.Kind == (schema.SignOffData{}).EntryKind() {
		if err := restate(r, l, key); err != nil {
			return schema.Entry{}, err
		}
	}
	text, err := json.Marshal(l.Data)
	if err != nil {
		return schema.Entry{}, err
	}
	e, err := schema.NewEntry(schema.Origin{
		ID: l.ID, By: l.By, Device: l.Device, After: l.After, Head: head(r.Kind, l), Counter: l.counter, At: l.At, Entered: l.Entered,
	}, raw{l.Kind, text})
	if err != nil {
		return e, err
	}
	message, err := schema.HashesOf(r.Of(x.first), r.Entries).Sign(e)
	if err != nil {
		return e, err
	}
	sig, err := signature.SignEntry(message, key)
	if err != nil {
		return e, err
	}
	return e.Signed(sig)
}

// head names an invented commit, one a day; the first entry of a shop has none.
func head(kind schema.RecordKind, l *line) string {
	if kind == schema.ShopRecord && len(l.After) == 0 {
		return ""
	}
	sum := sha1.Sum([]byte("commit of " + l.Entered.Format(time.DateOnly)))
	return hex.EncodeToString(sum[:])
}

// restate makes a sign-off's statement over what it saw.
func restate(r schema.Record, l *line, key ssh.Signer) error {
	statement, _ := l.Data["statement"].(map[string]any)
	saw := []schema.Entry{}
	sight := schema.NewSight(r.Entries)
	for _, e := range r.Entries {
		if slices.Contains(l.After, e.ID) || slices.ContainsFunc(l.After, func(id string) bool { return sight.Saw(id, e.ID) }) {
			saw = append(saw, e)
		}
	}
	statement["digest"], statement["entries"] = schema.Digest(saw), len(saw)
	text, err := json.Marshal(statement)
	if err != nil {
		return err
	}
	if text, err = schema.Canonical(text); err != nil {
		return err
	}
	armored, err := signature.Sign(signature.Statement, text, key)
	l.Data["signature"] = string(armored)
	return err
}

// raw is data of any kind, as it stands.
type raw struct {
	kind string
	text json.RawMessage
}

// EntryKind names the kind.
func (d raw) EntryKind() string { return d.kind }

// MarshalJSON gives the text.
func (d raw) MarshalJSON() ([]byte, error) { return d.text, nil }
