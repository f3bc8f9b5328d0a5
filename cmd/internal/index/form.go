package index

import (
	"encoding/binary"
	"errors"
	"maps"
	"slices"

	"feedproof/records"

	"github.com/klauspost/compress/s2"
)

// Keys: facts of a record by the hash of its bytes, and a table of a folder by
// the hash of the folder.
func fileKey(f records.File) string { return "record " + f.Hash }

func folderKey(table string, f records.Folder) string {
	return "folder " + string(f.Kind) + " " + table + " " + f.Hash
}

// tables are the facts of one record, by table.
type tables map[string][]byte

// encode writes the tables as fields, name and facts in turn, compressed: they
// are read again only when another record of their folder changes.
func (t tables) encode() []byte {
	var out []byte
	for _, name := range slices.Sorted(maps.Keys(t)) {
		out = field(field(out, []byte(name)), t[name])
	}
	return s2.Encode(nil, out)
}

func decodeTables(b []byte) (tables, bool) {
	if b == nil {
		return nil, false
	}
	plain, err := s2.Decode(nil, b)
	if err != nil {
		return nil, false
	}
	t := tables{}
	err = rows(plain, func(r Row) error { t[r.ID] = r.Facts; return nil })
	return t, err == nil
}

// join puts the facts of a folder's records behind each other, a table at a
// time. A table that is empty there has its key too: empty is not missing.
func join(made map[string][]byte, f records.Folder, files []records.File, facts map[string]tables) {
	for _, file := range files {
		for table := range facts[file.Hash] {
			key := folderKey(table, f)
			if made[key] == nil {
				made[key] = []byte{}
			}
		}
	}
	for _, file := range files {
		for table, b := range facts[file.Hash] {
			if len(b) > 0 {
				key := folderKey(table, f)
				made[key] = field(field(made[key], []byte(file.ID)), b)
			}
		}
	}
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
