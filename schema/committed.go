package schema

import (
	"bytes"
	"encoding/json"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json/jsontext"
)

// ReadCommitted is [DecodeRecord] for a record that a shop holds, many times as
// fast. It was held to be strict JSON when it was committed, and whatever
// changed it since is found by its hash; so its lines are read as they stand.
// What is not in the form that [Record.Encode] writes, a newer version among
// it, is read by DecodeRecord, with its errors. The record keeps b.
func ReadCommitted(b []byte) (Record, error) {
	if r, ok := readLines(b); ok {
		return r, nil
	}
	return DecodeRecord(b)
}

var lastLine = []byte("]}\n")

// readLines reads an envelope, then one entry a line.
func readLines(b []byte) (Record, bool) {
	first, rest, ok := bytes.Cut(b, []byte("\n"))
	if !ok || !bytes.HasSuffix(rest, lastLine) || len(b) > MaxRecordBytes {
		return Record{}, false
	}
	var head struct {
		Record  RecordKind
		Version int
		ID      string
	}
	if json.Unmarshal(append(bytes.Clone(first), lastLine...), &head) != nil || head.Version != WrittenVersion {
		return Record{}, false
	}
	r := Record{Kind: head.Record, Version: head.Version, ID: head.ID}
	if !bytes.Equal(first, r.head()) {
		return Record{}, false
	}
	rest = rest[:len(rest)-len(lastLine)]
	lines := min(bytes.Count(rest, []byte("\n")), MaxEntries)
	r.Entries = make([]Entry, 0, lines)
	seen := make(map[string]bool, lines)
	for len(rest) > 0 {
		var line []byte
		if line, rest, ok = bytes.Cut(rest, []byte("\n")); !ok {
			return Record{}, false
		}
		if len(rest) > 0 {
			if line, ok = bytes.CutSuffix(line, []byte(",")); !ok {
				return Record{}, false
			}
		}
		e, ok := readLine(line)
		if !ok || seen[e.ID] {
			return Record{}, false
		}
		seen[e.ID] = true
		r.Entries = append(r.Entries, e)
	}
	return r, len(r.Entries) > 0
}

// readLine reads an entry in canonical form: its keys stand in their order.
func readLine(line []byte) (Entry, bool) {
	if len(line) > MaxEntryBytes {
		return Entry{}, false
	}
	begin, data, end, ok := aroundData(line)
	if !ok {
		return Entry{}, false
	}
	j := entryJSON{Data: data}
	c := cutter{left: begin}
	c.upTo(`{"after":[`)
	seen := c.upToList(`],"at":"`)
	j.At = c.upTo(`","by":"`)
	j.By = c.upTo(`","counter":`)
	counter := c.left
	c.left = end
	c.upTo(`,"device":"`)
	j.Device = c.upTo(`","entered":"`)
	j.Entered, j.Head = c.upToOptional(`","head":"`, `","id":"`)
	j.ID = c.upTo(`","kind":"`)
	j.Kind, j.Sig = c.upToOptional(`","sig":"`, `"}`)
	j.After = seen
	var err error
	j.Counter, err = strconv.ParseInt(counter, 10, 64)
	if err != nil || strconv.FormatInt(j.Counter, 10) != counter || c.failed || c.left != "" || !ValidID(j.Kind) {
		return Entry{}, false
	}
	e, err := j.entry(line)
	return e, err == nil
}

// aroundData is the JSON object of a line's data, and the texts before and
// after it. What stands after it has no quotes but its own.
func aroundData(line []byte) (begin string, data []byte, end string, ok bool) {
	before, rest, ok := bytes.Cut(line, []byte(`,"data":`))
	after := bytes.LastIndex(rest, []byte(`,"device":"`))
	if !ok || after < 0 {
		return "", nil, "", false
	}
	data = rest[:after:after]
	ok = bytes.HasPrefix(data, []byte("{")) && bytes.HasSuffix(data, []byte("}")) && jsontext.Value(data).IsValid()
	return string(before), data, string(rest[after:]), ok
}

// cutter takes a text apart from its beginning.
type cutter struct {
	left   string
	failed bool
}

// upToOptional is the text before a field that may be missing, and that field's own text before what follows it.
func (c *cutter) upToOptional(field, follows string) (text, optional string) {
	if before, _, there := strings.Cut(c.left, field); there && strings.IndexByte(before, '"') < 0 {
		return c.upTo(field), c.upTo(follows)
	}
	return c.upTo(follows), ""
}

// upToList is a list of texts before what follows it.
func (c *cutter) upToList(follows string) []string {
	inside, left, there := strings.Cut(c.left, follows)
	c.left, c.failed = left, c.failed || !there
	if inside == "" {
		return []string{}
	}
	var list []string
	items := cutter{left: inside + ","}
	for items.left != "" && !items.failed {
		if !strings.HasPrefix(items.left, `"`) {
			c.failed = true
			return nil
		}
		items.left = items.left[1:]
		list = append(list, items.upTo(`",`))
	}
	c.failed = c.failed || items.failed
	return list
}

// upTo is the text before what follows it. Text that JSON writes in another
// way than it reads fails.
func (c *cutter) upTo(follows string) string {
	text, left, there := strings.Cut(c.left, follows)
	c.failed = c.failed || !there || strings.IndexByte(text, '"') >= 0 || strings.IndexByte(text, '\\') >= 0
	c.left = left
	return text
}

// DecodeGrown is [DecodeRecord] for a record of which an older state was
// decoded: the lines that the older one has, byte for byte, are not decoded
// again.
func DecodeGrown(b []byte, older Record) (Record, error) {
	lines, ok := linesOf(b, older)
	if !ok {
		return DecodeRecord(b)
	}
	r := Record{Kind: older.Kind, Version: older.Version, ID: older.ID, Entries: make([]Entry, 0, len(lines))}
	known := older.Entries
	seen := make(map[string]bool, len(lines))
	for _, line := range lines {
		var e Entry
		if len(known) > 0 && bytes.Equal(known[0].raw, line) {
			e, known = known[0], known[1:]
		} else {
			var err error
			if e, err = DecodeEntry(line); err != nil {
				return DecodeRecord(b)
			}
		}
		if seen[e.ID] {
			return DecodeRecord(b)
		}
		seen[e.ID] = true
		r.Entries = append(r.Entries, e)
	}
	return r, nil
}

// linesOf cuts a record in the form that is written, with the envelope of an
// older state, into its entries.
func linesOf(b []byte, older Record) ([][]byte, bool) {
	rest, ok := bytes.CutPrefix(b, append(older.head(), '\n'))
	if !ok || older.whole != nil || older.Version > MaxVersion || len(b) > MaxRecordBytes {
		return nil, false
	}
	if rest, ok = bytes.CutSuffix(rest, append([]byte{'\n'}, lastLine...)); !ok {
		return nil, false
	}
	lines := bytes.Split(rest, []byte(",\n"))
	return lines, len(lines) <= MaxEntries
}
