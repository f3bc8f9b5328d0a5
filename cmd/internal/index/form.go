package index

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"slices"

	"feedproof/records"
)

// Keys: what a folder was gathered from, and its tables.
func listKey(f records.Folder) string { return f.Path }

func tableKey(f records.Folder, table string) string { return f.Path + " " + table }

// list is what the tables of a folder were gathered from.
type list struct {
	Folder  string // its hash
	Tables  []string
	Records map[string]string // hashes by id
}

// decodeList is an empty list for one that cannot be read.
func decodeList(b []byte) list {
	var l list
	if json.Unmarshal(b, &l) != nil {
		return list{}
	}
	return l
}

// tables are the facts of one record, by table.
type tables map[string][]byte

// recordTables are those of records, by id.
type recordTables map[string]tables

// unchanged are the records that are as they were when the folder was gathered,
// still without their facts.
func (f *folder) unchanged() recordTables {
	same := recordTables{}
	for _, file := range f.files {
		if f.list.Records[file.ID] == file.Hash {
			same[file.ID] = tables{}
		}
	}
	return same
}

// take gives each record its facts of a table.
func (r recordTables) take(table string, facts []byte) error {
	for _, t := range r {
		t[table] = nil
	}
	return rows(facts, func(row Row) error {
		if t, wanted := r[row.ID]; wanted {
			t[table] = row.Facts
		}
		return nil
	})
}

// join puts the facts of the folder's records behind each other, a table at a
// time, and lists them. A table that is empty there has its key too: empty is
// not missing.
func (f *folder) join(made map[string][]byte) {
	l := list{Folder: f.Hash, Records: map[string]string{}}
	for _, file := range f.files {
		l.Records[file.ID] = file.Hash
		for table, facts := range f.facts[file.ID] {
			key := tableKey(f.Folder, table)
			if made[key] == nil {
				made[key] = field(nil, []byte(f.Hash))
				l.Tables = append(l.Tables, table)
			}
			if len(facts) > 0 {
				made[key] = field(field(made[key], []byte(file.ID)), facts)
			}
		}
	}
	slices.Sort(l.Tables)
	made[listKey(f.Folder)], _ = json.Marshal(l) // of texts
}

// factsOf is a table of the folder that has this hash; ok is false for that of
// another, or of none.
func factsOf(hash string, joined []byte) (facts []byte, ok bool) {
	return bytes.CutPrefix(joined, field(nil, []byte(hash)))
}

// field appends a length and that many bytes.
func field(to, b []byte) []byte {
	return append(binary.AppendUvarint(to, uint64(len(b))), b...)
}

var errCut = errors.New("kept facts end too soon")

// rows reads fields in pairs.
func rows(b []byte, visit func(Row) error) error {
	next := func() ([]byte, error) {
		n, width := binary.Uvarint(b)
		if width <= 0 || n > uint64(len(b)-width) {
			return nil, errCut
		}
		f := b[width : width+int(n)]
		b = b[width+int(n):]
		return f, nil
	}
	for len(b) > 0 {
		id, err := next()
		if err != nil {
			return err
		}
		facts, err := next()
		if err != nil {
			return err
		}
		if err := visit(Row{string(id), facts}); err != nil {
			return err
		}
	}
	return nil
}
