package desk

import (
	"path/filepath"
	"sync"

	"feedproof/checklist/audit"
	"feedproof/cmd/internal/facts"
	"feedproof/cmd/internal/index"
	"feedproof/records"
	"feedproof/schema"
)

// Source is the shop as questions see it: one commit of it, with what was
// gathered from its records.
type Source struct {
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

// Ended takes the count of what was looked into off the screen.
func (s *Source) Ended() { s.whole.told(s.whole.n, s.whole.n) }

// Source is the shop's records for questions.
func (d *Desk) Source() (*Source, error) {
	seen, err := d.look()
	if err != nil {
		return nil, err
	}
	if seen.source != nil {
		return seen.source, nil
	}
	program := ""
	if d.options.Program != nil {
		program = d.options.Program()
	}
	gathered := func(file string, gather index.Gather) *index.Index {
		return index.New(seen.view, index.Options{
			File: filepath.Join(d.shop.Dir(), "cache", file), Program: program, Gather: gather, Progress: d.progress("reading records"),
		})
	}
	seen.source = &Source{seen.view, gathered("facts.db", audit.Gather), gathered("words.db", audit.GatherWords), &lookedInto{told: d.progress("looking into record")}}
	return seen.source, nil
}

// Facts hands over a gathered table.
func (s *Source) Facts(kind schema.RecordKind, table string, visit func(string, []byte) error) error {
	gathered := s.facts
	if table == audit.TableWords {
		gathered = s.words
	}
	return gathered.Table(kind, table, func(r index.Row) error { return visit(r.ID, r.Facts) })
}

// Record is a record as committed.
func (s *Source) Record(kind schema.RecordKind, id string) (schema.Record, error) {
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
func (s *Source) Shop() (schema.Shop, error) { return s.View.Facts() }

// Told are the entries of a record, each in a line.
func (s *Source) Told(r schema.Record) []string { return facts.Told(r) }
