// Package schema is the on-disk form of feedproof's records: one JSON document
// per vehicle, gauge or part and one for the shop, each an envelope and an
// append-only list of entries.
//
// Start with [DecodeRecord] and [NewEntry]. Reading is strict: duplicate keys,
// wrong case, unknown fields, unknown units, trailing data, absurd sizes and
// depths are refused with the entry and the field named.
//
// Rules for changing the format, which is a promise to every record written:
//   - the bytes of an entry never change; readers keep [Entry.Raw];
//   - no floats: quantities are text and unit, as written;
//   - a new optional field or entry kind is a new version of the schema;
//   - the examples in testdata/formats are frozen with their date. If one of
//     their tests fails, take a different approach; never edit the example.
//
// What is deliberately absent: judgement. Rules live in checklist.
package schema

import (
	"bytes"
	"cmp"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"time"

	jsonv2 "github.com/go-json-experiment/json"
	"github.com/gowebpki/jcs"
	"github.com/oklog/ulid/v2"
)

// Sizes that no honest entry reaches. Larger is refused on reading.
const (
	MaxEntryBytes  = 256 << 10
	MaxRecordBytes = 64 << 20
	MaxEntries     = 200_000
	MaxDepth       = 16 // of an entry; a record is two deeper
	MaxCounter     = 1 << 52
	MaxAfter       = 64 // entries that one may name as seen last
)

// Entry is one fact, by one person, at one time. It is never edited or
// removed; a later entry corrects or voids it.
//
// A new field of the envelope must sort before sig: what is signed is the line
// as it stands without its end.
type Entry struct {
	After   []string        // ids of the entries that its writer had seen last, sorted; none for the first
	ID      string          // ULID, unique in the shop
	Kind    string          // names the schema of Data
	At      time.Time       // when it happened, as claimed
	Entered time.Time       // when it was typed, by this device's clock
	By      string          // person id
	Device  string          // device id
	Counter int64           // one more than the highest of After
	Head    string          // commit that the view of its writer stood on; empty before the first
	Data    json.RawMessage // the fact, by the schema of Kind
	Sig     string          // the author's signature, see [Scope]; empty until it is signed

	// Rank is the place in an order of events, from 1; see [Sight.Orders]. It is not written.
	Rank int

	raw []byte
}

// entryJSON is the entry as it stands in a line.
type entryJSON struct {
	After   []string        `json:"after"`
	At      string          `json:"at"`
	By      string          `json:"by"`
	Counter int64           `json:"counter"`
	Data    json.RawMessage `json:"data"`
	Device  string          `json:"device"`
	Entered string          `json:"entered"`
	Head    string          `json:"head,omitempty"`
	ID      string          `json:"id"`
	Kind    string          `json:"kind"`
	Sig     string          `json:"sig,omitempty"`
}

// entryKeys are the fields of an entry; mayLack are those that need not be there: the first entries of a
// shop stand on no commit, and an entry is made before it is signed.
var (
	entryKeys = []string{"after", "at", "by", "counter", "data", "device", "entered", "head", "id", "kind", "sig"}
	mayLack   = []string{"head", "sig"}
)

// Patterns of the texts in an envelope, for the program and for the schema.
const (
	HeadPattern = `^[0-9a-f]{40}$`
	SigPattern  = `^[A-Za-z0-9+/]{80,200}$` // unpadded base64
	IDPattern   = `^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$`
	TimePattern = `^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])T([01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9](\.[0-9]+)?(Z|[+-][0-9]{2}:[0-9]{2})$` // RFC 3339 date-time
)

var timePattern = regexp.MustCompile(TimePattern)

// ValidID reports whether s can name a record, person, device or entry, as
// IDPattern has it: up to 64 letters, digits, dots, dashes and underscores, safe
// as a file name.
func ValidID(s string) bool {
	for i := range len(s) {
		switch c := s[i]; {
		case 'a' <= c && c <= 'z', 'A' <= c && c <= 'Z', '0' <= c && c <= '9':
		case i > 0 && (c == '.' || c == '_' || c == '-'):
		default:
			return false
		}
	}
	return 0 < len(s) && len(s) <= 64
}

// NewID makes a ULID, which sorts by the time it was made. A clock before 1970
// or past the year 10889 counts as 1970.
func NewID(now time.Time) string {
	ms := ulid.Timestamp(now)
	if now.Before(time.Unix(0, 0)) || ms > ulid.MaxTime() {
		ms = 0
	}
	return ulid.MustNew(ms, rand.Reader).String()
}

// IsID reports that a text is an id as [NewID] makes it: of an entry, and no word.
func IsID(s string) bool {
	_, err := ulid.ParseStrict(s)
	return err == nil
}

// Origin is who wrote an entry, where, when and having seen what.
type Origin struct {
	ID      string // empty for a new one
	By      string
	Device  string
	After   []string // see [Heads]
	Head    string
	Counter int64     // see [NextCounter]
	At      time.Time // zero: the same as Entered
	Entered time.Time
}

// NewEntry makes an entry in canonical form (RFC 8785) from typed data.
// Times are kept in UTC to the second.
func NewEntry(o Origin, data Data) (Entry, error) {
	if o.At.IsZero() {
		o.At = o.Entered
	}
	body, err := json.Marshal(data)
	if err != nil {
		return Entry{}, fmt.Errorf("%s entry: %w", data.EntryKind(), err)
	}
	line, err := json.Marshal(entryJSON{
		After: list(o.After), At: stamp(o.At), By: o.By, Counter: o.Counter, Data: body, Device: o.Device,
		Entered: stamp(o.Entered), Head: o.Head, ID: cmp.Or(o.ID, NewID(o.Entered)), Kind: data.EntryKind(),
	})
	if err != nil {
		return Entry{}, fmt.Errorf("%s entry: %w", data.EntryKind(), err)
	}
	canonical, err := Canonical(line)
	if err != nil {
		return Entry{}, fmt.Errorf("%s entry: %w", data.EntryKind(), err)
	}
	return DecodeEntry(canonical)
}

// list is the ids in their order, and never null.
func list(ids []string) []string {
	return append([]string{}, slices.Sorted(slices.Values(ids))...)
}

// Canonical is JSON in the form of RFC 8785.
func Canonical(b []byte) ([]byte, error) { return jcs.Transform(b) }

func stamp(t time.Time) string { return t.UTC().Truncate(time.Second).Format(time.RFC3339) }

// Raw is the entry's bytes exactly as they were written.
func (e Entry) Raw() []byte { return bytes.Clone(e.raw) }

// Late reports that the entry was typed noticeably after it happened.
func (e Entry) Late() bool { return e.Entered.Sub(e.At) > 10*time.Minute }

// DecodeEntry reads one entry. The bytes are kept as they are; only their
// meaning is checked: one JSON object, no duplicate or unknown or miscased key,
// times in RFC 3339, ids that are ids. Whether they are canonical is for
// [Record.Validate] to say.
func DecodeEntry(line []byte) (Entry, error) {
	if err := checkSize(line); err != nil {
		return Entry{}, err
	}
	if err := checkJSON(line, MaxDepth); err != nil {
		return Entry{}, fmt.Errorf("entry: %w", err)
	}
	if len(bytes.TrimSpace(line)) != len(line) {
		return Entry{}, errors.New("entry: there is white space around the JSON value")
	}
	return readEntry(line)
}

func checkSize(line []byte) error {
	if len(line) > MaxEntryBytes {
		return fmt.Errorf("entry: %d bytes, more than %d", len(line), MaxEntryBytes)
	}
	return nil
}

// readEntry reads an entry that has passed checkJSON.
func readEntry(line []byte) (Entry, error) {
	if err := checkSize(line); err != nil {
		return Entry{}, err
	}
	object, err := fields(line)
	if err == nil {
		err = exactKeys(object, entryKeys, mayLack...)
	}
	if err != nil {
		return Entry{}, fmt.Errorf("entry: %w", err)
	}
	var j entryJSON
	if err := json.Unmarshal(line, &j); err != nil {
		return Entry{}, fmt.Errorf("%s: %w", j.name(), wrongType("", err))
	}
	return j.entry(bytes.Clone(line))
}

// name is "entry" and its id, as far as the id can be printed.
func (j entryJSON) name() string {
	if !ValidID(j.ID) {
		return "entry"
	}
	return "entry " + j.ID
}

func (j entryJSON) entry(line []byte) (Entry, error) {
	e := Entry{After: j.After, ID: j.ID, Kind: j.Kind, By: j.By, Device: j.Device, Counter: j.Counter, Head: j.Head, Data: j.Data, Sig: j.Sig, raw: line}
	for _, id := range []struct{ field, value string }{{"id", j.ID}, {"by", j.By}, {"device", j.Device}} {
		if !ValidID(id.value) {
			return Entry{}, fmt.Errorf("%s: %s: %q is not an id", j.name(), id.field, id.value)
		}
	}
	if err := j.checkSeen(); err != nil {
		return Entry{}, fmt.Errorf("entry %s: %w", j.ID, err)
	}
	if j.Counter < 1 || j.Counter > MaxCounter {
		return Entry{}, fmt.Errorf("entry %s: counter: %d is out of range", j.ID, j.Counter)
	}
	var err error
	if e.At, err = moment(j.At); err != nil {
		return Entry{}, fmt.Errorf("entry %s: at: %w", j.ID, err)
	}
	if e.Entered, err = moment(j.Entered); err != nil {
		return Entry{}, fmt.Errorf("entry %s: entered: %w", j.ID, err)
	}
	return e, nil
}

// checkSeen holds what the entry says that its writer saw to its form.
func (j entryJSON) checkSeen() error {
	if j.After == nil {
		return errors.New("after: is not a list")
	}
	if len(j.After) > MaxAfter {
		return fmt.Errorf("after: names %d entries, more than %d", len(j.After), MaxAfter)
	}
	for i, id := range j.After {
		switch {
		case !ValidID(id):
			return fmt.Errorf("after: %q is not an id", id)
		case i > 0 && j.After[i-1] >= id:
			return fmt.Errorf("after: %s stands out of order", id)
		}
	}
	if j.Head != "" && !(len(j.Head) == 40 && consistsOf(j.Head, isHex)) {
		return fmt.Errorf("head: %q is not a commit", j.Head)
	}
	if j.Sig != "" && !(80 <= len(j.Sig) && len(j.Sig) <= 200 && consistsOf(j.Sig, isBase64)) {
		return fmt.Errorf("sig: %.40q is not a signature", j.Sig)
	}
	return nil
}

func consistsOf(text string, is func(byte) bool) bool {
	for i := range len(text) {
		if !is(text[i]) {
			return false
		}
	}
	return true
}

func isHex(c byte) bool { return '0' <= c && c <= '9' || 'a' <= c && c <= 'f' }

func isBase64(c byte) bool {
	return '0' <= c && c <= '9' || 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' || c == '+' || c == '/'
}

// moment reads a time in RFC 3339. The pattern is stricter than time.Parse,
// which lets a comma and a one-figure hour pass.
func moment(text string) (time.Time, error) {
	t, err := time.Parse(time.RFC3339, text)
	var printed [len(time.RFC3339)]byte
	if err == nil && string(t.AppendFormat(printed[:0], time.RFC3339)) == text {
		return t, nil
	}
	if err != nil || !timePattern.MatchString(text) {
		return time.Time{}, fmt.Errorf("%.80q is not an RFC 3339 time", text)
	}
	return t, nil
}

// strictly takes no fields but a struct's own. Names count to the letter, and
// each once, without saying so.
var strictly = jsonv2.RejectUnknownMembers(true)

// Into decodes the entry's data into its type. Data of a kind that this
// version knows always fits, because it was validated when it came in.
func Into[T Data](e Entry) (T, error) {
	var data T
	if e.Kind != data.EntryKind() {
		return data, fmt.Errorf("entry %s: is a %s, not a %s", e.ID, e.Kind, data.EntryKind())
	}
	if err := jsonv2.Unmarshal(e.Data, &data, strictly); err != nil {
		return data, fmt.Errorf("entry %s: data: %w", e.ID, err)
	}
	return data, nil
}
