package schema

import (
	"bytes"
	"encoding/json"
	"strconv"

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
	seen := map[string]bool{}
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
	var j entryJSON
	c := cutter{left: line}
	c.upTo(`{"at":"`)
	j.At = c.upTo(`","by":"`)
	j.By = c.upTo(`","counter":`)
	counter := c.upTo(`,"data":`)
	j.Data = c.object(`,"device":"`)
	j.Device = c.upTo(`","entered":"`)
	j.Entered = c.upTo(`","id":"`)
	j.ID = c.upTo(`","kind":"`)
	j.Kind = c.upTo(`"}`)
	var err error
	j.Counter, err = strconv.ParseInt(counter, 10, 64)
	if err != nil || strconv.FormatInt(j.Counter, 10) != counter || c.failed || len(c.left) > 0 || !ValidID(j.Kind) {
		return Entry{}, false
	}
	e, err := j.entry(line)
	return e, err == nil
}

// cutter takes a line apart from its beginning.
type cutter struct {
	left   []byte
	failed bool
}

// upTo is the text before what follows it. Text that JSON writes in another
// way than it reads fails.
func (c *cutter) upTo(follows string) string {
	text, left, there := bytes.Cut(c.left, []byte(follows))
	c.failed = c.failed || !there || bytes.ContainsAny(text, `"\`)
	c.left = left
	return string(text)
}

// object is the JSON object before the last place where this follows.
func (c *cutter) object(follows string) []byte {
	i := bytes.LastIndex(c.left, []byte(follows))
	if i < 0 {
		c.failed = true
		return nil
	}
	object := c.left[:i:i]
	c.left = c.left[i+len(follows):]
	c.failed = c.failed || !bytes.HasPrefix(object, []byte("{")) || !bytes.HasSuffix(object, []byte("}")) || !jsontext.Value(object).IsValid()
	return object
}
