package export

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"feedproof/cmd/internal/visible"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// Options say what goes into an export.
type Options struct {
	About    []string // lines of the read-me: shop, commit, rule set, for whom
	Personal bool     // write what is personal, in a folder of its own
	Notes    bool     // write free notes
}

// Writer writes an export into a folder.
type Writer struct {
	dir     string
	o       Options
	tables  map[schema.RecordKind]map[string]table
	files   map[string]*file // by name
	lines   *file
	Entries int
	Files   int
}

// file is a file of the export, open.
type file struct {
	*os.File
	csv *csv.Writer
}

// write writes a row, what people typed as text and never as a formula.
func (f *file) write(row []string) error { return f.csv.Write(visible.Cells(row)) }

const (
	linesName    = "entries.jsonl"
	sumsName     = "SHA256SUMS"
	readmeName   = "README.txt"
	personalDir  = "personal"
	personalName = personalDir + "/personal.csv"
	unitsName    = "units.csv"
	filesDir     = "files"
)

// New begins an export in a new or empty folder.
func New(dir string, o Options) (*Writer, error) {
	if found, err := os.ReadDir(dir); err == nil && len(found) > 0 {
		return nil, fmt.Errorf("%s: is not empty: name a new folder", dir)
	}
	w := &Writer{dir: dir, o: o, tables: map[schema.RecordKind]map[string]table{}, files: map[string]*file{}}
	for _, sub := range []string{dir, filepath.Join(dir, "csv")} {
		if err := os.MkdirAll(sub, 0o755); err != nil {
			return nil, err
		}
	}
	for _, kind := range schema.RecordKinds {
		var err error
		if w.tables[kind], err = tables(kind); err != nil {
			return nil, err
		}
	}
	var err error
	w.lines, err = w.open(linesName, nil)
	return w, err
}

func (w *Writer) open(name string, header []string) (*file, error) {
	if f, there := w.files[name]; there {
		return f, nil
	}
	path := filepath.Join(w.dir, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return nil, err
	}
	created, err := os.Create(path)
	if err != nil {
		return nil, err
	}
	f := &file{created, csv.NewWriter(created)}
	f.csv.UseCRLF = true // RFC 4180
	w.files[name] = f
	if header != nil {
		err = f.write(header)
	}
	return f, err
}

// line is an entry in entries.jsonl.
type line struct {
	RecordKind schema.RecordKind `json:"record_kind"`
	Record     string            `json:"record"`
	Counter    int64             `json:"counter"`
	Entry      string            `json:"entry"`
	Kind       string            `json:"kind"`
	At         string            `json:"at"`
	Entered    string            `json:"entered"`
	By         string            `json:"by"`
	Device     string            `json:"device"`
	After      []string          `json:"after"`          // entries that its writer had seen last
	Head       string            `json:"head,omitempty"` // commit on which they had seen them
	Sig        string            `json:"sig,omitempty"`  // the author's; it says nothing where fields are left out
	Data       map[string]any    `json:"data"`
	LeftOut    []string          `json:"left_out,omitempty"` // personal fields: they stand in the personal folder, if at all
}

// Entry writes an entry of a record. An entry kind of a newer version goes
// into the lines alone.
func (w *Writer) Entry(kind schema.RecordKind, record string, e schema.Entry) error {
	if e.Kind == (schema.NoteData{}).EntryKind() && !w.o.Notes {
		return nil
	}
	dec := json.NewDecoder(strings.NewReader(string(e.Data)))
	dec.UseNumber()
	var data map[string]any
	if err := dec.Decode(&data); err != nil {
		return fmt.Errorf("entry %s: %w", e.ID, err)
	}
	w.Entries++
	l := line{kind, record, e.Counter, e.ID, e.Kind, stamp(e, true), stamp(e, false), e.By, e.Device, e.After, e.Head, e.Sig, data, nil}
	t, known := w.tables[kind][e.Kind]
	if known {
		if err := w.takePersonal(t, &l); err != nil {
			return err
		}
		if len(l.LeftOut) > 0 && !w.o.Personal {
			l.Sig = "" // or it would confirm a guess
		}
	}
	enc := json.NewEncoder(w.lines)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(l); err != nil {
		return err
	}
	if !known {
		return nil
	}
	return w.row(t, l)
}

func stamp(e schema.Entry, happened bool) string {
	if happened {
		return e.At.UTC().Format("2006-01-02T15:04:05Z")
	}
	return e.Entered.UTC().Format("2006-01-02T15:04:05Z")
}

// takePersonal moves personal fields out of the data.
func (w *Writer) takePersonal(t table, l *line) error {
	for _, c := range t.columns {
		v, there := l.Data[c.path[0]]
		if !c.Personal || !there {
			continue
		}
		delete(l.Data, c.path[0])
		l.LeftOut = append(l.LeftOut, c.Column)
		if !w.o.Personal {
			continue
		}
		f, err := w.open(personalName, heads(personalColumns))
		if err == nil {
			err = f.write([]string{string(l.RecordKind), l.Record, l.Entry, t.name, c.Column, text(v)})
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// row writes an entry into the table of its kind, and its lists into theirs.
func (w *Writer) row(t table, l line) error {
	cells := []string{l.Record, l.Entry, fmt.Sprint(l.Counter), l.At, l.Entered, l.By, l.Device}
	if err := w.put(t, cells, l.Data, false); err != nil {
		return err
	}
	for _, c := range t.children {
		list, _ := at(l.Data, c.path).([]any)
		for i, item := range list {
			object, _ := item.(map[string]any)
			if err := w.put(c.table, []string{l.Record, l.Entry, fmt.Sprint(i + 1)}, object, true); err != nil {
				return err
			}
		}
	}
	return nil
}

func (w *Writer) put(t table, cells []string, data map[string]any, inList bool) error {
	header := heads(t.first)
	for _, c := range t.columns {
		if !c.Personal {
			header, cells = append(header, c.Column), append(cells, text(at(data, c.path)))
		}
	}
	if inList {
		for _, c := range t.children {
			header, cells = append(header, strings.Join(c.path, ".")), append(cells, text(at(data, c.path)))
		}
	}
	f, err := w.open("csv/"+t.name+".csv", header)
	if err != nil {
		return err
	}
	return f.write(cells)
}

// at follows a path into decoded JSON.
func at(v any, path []string) any {
	for _, name := range path {
		object, is := v.(map[string]any)
		if !is {
			return nil
		}
		v = object[name]
	}
	return v
}

// text is a value as a cell.
func text(v any) string {
	switch x := v.(type) {
	case nil:
		return ""
	case string:
		return x
	case []any:
		parts := make([]string, len(x))
		for i, p := range x {
			if _, is := p.(map[string]any); is {
				return encoded(v)
			}
			parts[i] = text(p)
		}
		return strings.Join(parts, "|")
	case map[string]any:
		return encoded(v)
	}
	return fmt.Sprint(v)
}

func encoded(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		return ""
	}
	return string(b)
}

// Close writes the dictionary, the read-me and the checksums, and closes the
// files.
func (w *Writer) Close() error {
	err := errors.Join(w.dictionary(), w.units())
	var all error
	for _, f := range w.files {
		f.csv.Flush()
		all = errors.Join(all, f.csv.Error(), f.Sync(), f.Close())
	}
	if err = errors.Join(err, all); err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(w.dir, readmeName), []byte(w.readme()), 0o644); err != nil {
		return err
	}
	if _, personal := w.files[personalName]; personal {
		if err := WriteSums(filepath.Join(w.dir, personalDir)); err != nil {
			return err
		}
	}
	return WriteSums(w.dir, personalDir)
}

func (w *Writer) dictionary() error {
	fields, err := Dictionary()
	if err != nil {
		return err
	}
	f, err := w.open("dictionary.csv", []string{"table", "column", "type", "values", "required", "personal", "means"})
	if err != nil {
		return err
	}
	for _, d := range fields {
		if err := f.write([]string{d.Table, d.Column, d.Type, d.Values, yesNo(d.Required), yesNo(d.Personal), d.Means}); err != nil {
			return err
		}
	}
	return nil
}

// File writes a file that entries name by its SHA-256, once.
func (w *Writer) File(sum string, content io.Reader) error {
	if err := os.MkdirAll(filepath.Join(w.dir, filesDir), 0o755); err != nil {
		return err
	}
	out, err := os.OpenFile(filepath.Join(w.dir, filesDir, sum), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return nil
	}
	if err != nil {
		return err
	}
	w.Files++
	_, err = io.Copy(out, content)
	return errors.Join(err, out.Close())
}

// units writes the unit table, so that any number can be turned into SI.
func (w *Writer) units() error {
	f, err := w.open(unitsName, heads(unitColumns))
	if err != nil {
		return err
	}
	for _, u := range quantity.AllSpellings() {
		if err := f.write([]string{string(u.Dimension), u.Text, u.SI, plain(u.Factor), plain(u.Offset)}); err != nil {
			return err
		}
	}
	return nil
}

// plain is a number that reads back as the same one.
func plain(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }

func yesNo(yes bool) string {
	if yes {
		return "yes"
	}
	return "no"
}

func (w *Writer) readme() string {
	lines := append(slices.Clone(w.o.About), "",
		"entries.jsonl   every entry, one JSON object a line (RFC 8259), in order of its record",
		"csv/            the same as tables (RFC 4180): one of each kind of entry, one of each list in it",
		"dictionary.csv  every column: what it means, type, words it may be, whether it must be there",
		"units.csv       every unit that a number may be written in, and how it becomes SI",
		"SHA256SUMS      check with: sha256sum -c SHA256SUMS")
	if w.Files > 0 {
		lines = append(lines, "files/          logs, photos and files, each named by its SHA-256, as the columns sha256 and original have it")
	}
	if w.o.Personal {
		lines = append(lines, "personal/        owners' references, customers' words and people's names; may be taken away as a whole")
	}
	lines = append(append(lines, ""), w.contents()...)
	lines = append(lines, "", "Entries are in order of (counter, id). A correction stands beside the entry that it corrects.",
		"In csv/ a cell that a spreadsheet would compute has an apostrophe before it, and what cannot be seen is written as [U+202E]; entries.jsonl has it as it was typed.",
		"What was typed in words, such as the proof of a caution, stands as it was typed and may name people.",
		"These are facts as they were recorded. Nothing here says that a car or a job is legal or safe.")
	return strings.Join(lines, "\n") + "\n"
}

// contents says of each table what a row of it is.
func (w *Writer) contents() []string {
	var lines []string
	for _, kind := range schema.RecordKinds {
		for _, t := range w.tables[kind] {
			for _, t := range append([]table{t}, t.lists()...) {
				if name := "csv/" + t.name + ".csv"; w.files[name] != nil {
					lines = append(lines, name+": "+t.means)
				}
			}
		}
	}
	slices.Sort(lines)
	return lines
}

// lists are the tables of an entry's lists.
func (t table) lists() []table {
	var out []table
	for _, c := range t.children {
		out = append(out, c.table)
	}
	return out
}
