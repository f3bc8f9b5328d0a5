package cli

import (
	"fmt"
	"os"
	"path/filepath"
	"sync"

	"feedproof/checklist/audit"
	"feedproof/cmd/internal/facts"
	"feedproof/cmd/internal/index"
	"feedproof/records"
	"feedproof/schema"
)

// source is the shop as questions see it: one commit of it, with what was
// gathered from its records.
type source struct {
	records.View
	facts, words *index.Index
	whole        *lookedInto
}

// lookedInto tells how many whole records a question has looked into.
type lookedInto struct {
	alone sync.Mutex
	told  func(done, total int)
	n     int
}

func (c *lookedInto) another() {
	c.alone.Lock()
	defer c.alone.Unlock()
	c.n++
	c.told(c.n, 0)
}

// end takes the count off the screen.
func (c *lookedInto) end() { c.told(c.n, c.n) }

// source opens the shop's records for questions.
func (s *session) source() (source, error) {
	view, err := s.shop.View()
	if err != nil {
		return source{}, err
	}
	gathered := func(file string, gather index.Gather) *index.Index {
		return index.New(view, index.Options{
			File: filepath.Join(s.shop.Dir(), "cache", file), Program: program(), Gather: gather, Progress: s.Progress("reading records"),
		})
	}
	return source{view, gathered("facts.db", audit.Gather), gathered("words.db", audit.GatherWords), &lookedInto{told: told(s.Progress("looking into record"))}}, nil
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
	gathered := s.facts
	if table == audit.TableWords {
		gathered = s.words
	}
	return gathered.Table(kind, table, func(r index.Row) error { return visit(r.ID, r.Facts) })
}

// Record is a record as committed.
func (s source) Record(kind schema.RecordKind, id string) (schema.Record, error) {
	s.whole.another()
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

// Told are the entries of a record, each in a line.
func (s source) Told(r schema.Record) []string { return facts.Told(r) }
