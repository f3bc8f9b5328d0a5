package cli

import (
	"fmt"
	"os"
	"path/filepath"

	"feedproof/checklist/audit"
	"feedproof/cmd/internal/index"
	"feedproof/cmd/internal/sheet"
	"feedproof/records"
	"feedproof/schema"
)

// source is the shop as questions see it: one commit of it, with what was
// gathered from its records.
type source struct {
	records.View
	index *index.Index
	whole *lookedInto
}

// lookedInto tells how many whole records a question has looked into.
type lookedInto struct {
	told func(done, total int)
	n    int
}

// end takes the count off the screen.
func (c *lookedInto) end() { c.told(c.n, c.n) }

// source opens the shop's records for questions.
func (s *session) source() (source, error) {
	view, err := s.shop.View()
	if err != nil {
		return source{}, err
	}
	return source{view, index.New(view, index.Options{
		File: filepath.Join(s.shop.Dir(), "cache", "facts.db"), Program: program(), Gather: audit.Gather, Progress: s.Progress("reading records"),
	}), &lookedInto{told: told(s.Progress("looking into record"))}}, nil
}

// program names this build, so that another one gathers anew: its file as it
// was installed, and its version.
func program() string {
	path, err := os.Executable()
	if err != nil {
		return version()
	}
	info, err := os.Stat(path)
	if err != nil {
		return version()
	}
	return fmt.Sprintf("%s %d %d", version(), info.Size(), info.ModTime().UnixNano())
}

// Facts hands over a gathered table.
func (s source) Facts(kind schema.RecordKind, table string, visit func(string, []byte) error) error {
	return s.index.Table(kind, table, func(r index.Row) error { return visit(r.ID, r.Facts) })
}

// Record is a record as committed.
func (s source) Record(kind schema.RecordKind, id string) (schema.Record, error) {
	s.whole.n++
	s.whole.told(s.whole.n, 0)
	f, err := s.File(kind, id)
	if err != nil {
		return schema.Record{}, err
	}
	content, err := s.Read(f)
	if err != nil {
		return schema.Record{}, err
	}
	return schema.ReadCommitted(content)
}

// Shop is what rules may know beside a vehicle's record.
func (s source) Shop() (schema.Shop, error) { return s.View.Facts() }

// Fact is an entry in one line.
func (s source) Fact(e schema.Entry) string { return sheet.Fact(e) }
