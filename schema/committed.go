package schema

import (
	"bytes"
	"encoding/json"

	jsonv2 "github.com/go-json-experiment/json"
)

// ReadCommitted is [DecodeRecord] for a record that a shop holds, several times
// as fast. It was held to be strict JSON when it was committed, and whatever
// changed it since is found by its hash; so its lines are read as they stand.
// What is not in the form that [Record.Encode] writes, a newer version among
// it, is read by DecodeRecord, with its errors.
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
	if !ok || !bytes.HasSuffix(rest, lastLine) {
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
	seen := map[string]bool{}
	for line := range bytes.Lines(bytes.TrimSuffix(rest, lastLine)) {
		line = bytes.TrimSuffix(bytes.TrimSuffix(line, []byte("\n")), []byte(","))
		var j entryJSON
		if jsonv2.Unmarshal(line, &j, strictly) != nil {
			return Record{}, false
		}
		e, err := j.entry(line)
		if err != nil || seen[e.ID] {
			return Record{}, false
		}
		seen[e.ID] = true
		r.Entries = append(r.Entries, e)
	}
	return r, bytes.Equal(r.Encode(), b)
}
