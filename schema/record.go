package schema

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
)

// RecordKind names the four kinds of record.
type RecordKind string

// Kinds of record.
const (
	VehicleRecord RecordKind = "vehicle"
	ShopRecord    RecordKind = "shop"
	GaugeRecord   RecordKind = "gauge"
	PartRecord    RecordKind = "part"
)

// RecordKinds lists the kinds of record.
var RecordKinds = []RecordKind{VehicleRecord, ShopRecord, GaugeRecord, PartRecord}

// Versions of the record format: the oldest and newest that can be read, and
// the one that is written. A record of a newer version is carried along
// untouched and is read-only.
const (
	MinVersion     = 1
	MaxVersion     = 1
	WrittenVersion = 1
)

// Record is one JSON document: an envelope and its entries, listed in order of
// (counter, id) so that all machines print the same. Which of them came first
// is another question, see [Sight].
type Record struct {
	Kind    RecordKind
	Version int
	ID      string
	Entries []Entry

	// Doubts are the entries of which it is not proven who wrote them or what
	// they saw, by id, and why. They are filled in where records are kept, and
	// are no part of what is written.
	Doubts map[string]string

	// Newer are the entries that only a newer program knows whole, by id, and
	// what this one does not know of them. Filled in like Doubts.
	Newer map[string]string

	whole []byte // all of a record of a newer version
}

// TooNewError says that a record wants a newer program.
type TooNewError struct {
	ID         string
	Have, Need int
}

func (e *TooNewError) Error() string {
	return fmt.Sprintf("record %s: read-only: needs version %d, this program knows %d", e.ID, e.Need, e.Have)
}

type envelope struct {
	Record  RecordKind
	Version int
	ID      string
	Entries []json.RawMessage
}

var envelopeKeys = []string{"record", "version", "id", "entries"}

// NewRecord is an empty record of the version that is written.
func NewRecord(kind RecordKind, id string) Record {
	return Record{Kind: kind, Version: WrittenVersion, ID: id}
}

// DecodeRecord reads a record strictly and keeps the bytes of every entry.
// A record of a newer version comes back with a *[TooNewError] beside it.
func DecodeRecord(b []byte) (Record, error) {
	if len(b) > MaxRecordBytes {
		return Record{}, fmt.Errorf("record: %d bytes, more than %d", len(b), MaxRecordBytes)
	}
	if err := checkJSON(b, MaxDepth+2); err != nil {
		return Record{}, fmt.Errorf("record: %w", err)
	}
	object, err := fields(b)
	if err != nil {
		return Record{}, fmt.Errorf("record: %w", err)
	}
	var version int
	if json.Unmarshal(object["version"], &version) == nil && version > MaxVersion {
		return newer(b, object, version)
	}
	if err := exactKeys(object, envelopeKeys); err != nil {
		return Record{}, fmt.Errorf("record: %w", err)
	}
	env, err := readEnvelope(object)
	if err != nil {
		return Record{}, fmt.Errorf("record: %w", err)
	}
	return env.record()
}

func readEnvelope(object map[string]json.RawMessage) (envelope, error) {
	var env envelope
	for _, f := range []struct {
		name string
		into any
	}{{"record", &env.Record}, {"version", &env.Version}, {"id", &env.ID}, {"entries", &env.Entries}} {
		if err := json.Unmarshal(object[f.name], f.into); err != nil {
			return envelope{}, wrongType(f.name, err)
		}
	}
	return env, nil
}

// newer takes of a later version's record what this version can name, and keeps
// all of its bytes. Entries that it cannot read are in the bytes only.
func newer(b []byte, object map[string]json.RawMessage, version int) (Record, error) {
	r := Record{Version: version, whole: bytes.Clone(b)}
	if json.Unmarshal(object["id"], &r.ID) != nil || !ValidID(r.ID) {
		return Record{}, fmt.Errorf("record: id: %.80q is not an id", object["id"])
	}
	var lines []json.RawMessage
	if json.Unmarshal(object["record"], &r.Kind) != nil || json.Unmarshal(object["entries"], &lines) != nil {
		lines = nil
	}
	for _, line := range lines {
		var j entryJSON
		if json.Unmarshal(line, &j) != nil {
			continue
		}
		if e, err := j.entry(line); err == nil {
			r.Entries = append(r.Entries, e)
		}
	}
	return r, &TooNewError{ID: r.ID, Have: MaxVersion, Need: version}
}

func (env envelope) record() (Record, error) {
	if !ValidID(env.ID) {
		return Record{}, fmt.Errorf("record: id: %q is not an id", env.ID)
	}
	if !slices.Contains(RecordKinds, env.Record) {
		return Record{}, fmt.Errorf("record %s: kind %q is unknown", env.ID, env.Record)
	}
	if env.Version < MinVersion {
		return Record{}, fmt.Errorf("record %s: version %d is not a version", env.ID, env.Version)
	}
	if env.Entries == nil {
		return Record{}, fmt.Errorf("record %s: entries: is not a list", env.ID)
	}
	if len(env.Entries) > MaxEntries {
		return Record{}, fmt.Errorf("record %s: %d entries, more than %d", env.ID, len(env.Entries), MaxEntries)
	}
	r := Record{Kind: env.Record, Version: env.Version, ID: env.ID}
	seen := map[string]bool{}
	for i, raw := range env.Entries {
		e, err := readEntry(raw)
		if err != nil {
			return Record{}, fmt.Errorf("record %s: entries[%d]: %w", env.ID, i, err)
		}
		if seen[e.ID] {
			return Record{}, fmt.Errorf("record %s: entry %s stands twice", env.ID, e.ID)
		}
		seen[e.ID] = true
		r.Entries = append(r.Entries, e)
	}
	return r, nil
}

// Encode writes the record: the envelope, then one entry a line, each with the
// bytes it always had. A record of a newer version is given back as it came.
func (r Record) Encode() []byte {
	if r.whole != nil {
		return bytes.Clone(r.whole)
	}
	b := bytes.NewBuffer(r.head())
	for i, e := range r.Entries {
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteByte('\n')
		b.Write(e.raw)
	}
	b.WriteString("\n]}\n")
	return b.Bytes()
}

// head is the first line of the record, without its end.
func (r Record) head() []byte {
	return fmt.Appendf(nil, `{"record":%q,"version":%d,"id":%q,"entries":[`, r.Kind, r.Version, r.ID)
}

// With is the record with more entries: a union by id, in order of
// (counter, id). The receiver is not changed; where an id comes with other
// bytes, those of the receiver stand. A record of a newer version is read-only,
// and is encoded as it came.
func (r Record) With(more ...Entry) Record {
	if len(more) == 0 && isOrdered(r.Entries) {
		r.Entries = slices.Clone(r.Entries)
		return r
	}
	seen := make(map[string]bool, len(r.Entries))
	union := make([]Entry, 0, len(r.Entries)+len(more))
	for _, e := range append(slices.Clip(r.Entries), more...) {
		if !seen[e.ID] {
			seen[e.ID] = true
			union = append(union, e)
		}
	}
	slices.SortStableFunc(union, listed)
	r.Entries = union
	return r
}

// isOrdered reports that entries stand in order, each once.
func isOrdered(entries []Entry) bool {
	for i := 1; i < len(entries); i++ {
		if listed(entries[i-1], entries[i]) >= 0 {
			return false
		}
	}
	return true
}

// listed compares two entries by (counter, id), as a record lists them.
func listed(a, b Entry) int {
	return cmp.Or(cmp.Compare(a.Counter, b.Counter), cmp.Compare(a.ID, b.ID))
}

// MaxCounter is the highest counter among the entries; 0 without any.
func (r Record) MaxCounter() int64 {
	var highest int64
	for _, e := range r.Entries {
		highest = max(highest, e.Counter)
	}
	return highest
}

// Entry finds an entry by id.
func (r Record) Entry(id string) (Entry, bool) {
	for _, e := range r.Entries {
		if e.ID == id {
			return e, true
		}
	}
	return Entry{}, false
}
