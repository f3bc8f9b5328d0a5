package audit

import (
	"encoding/json"
	"fmt"
	"time"

	"feedproof/checklist/past"
	"feedproof/checklist/state"
	"feedproof/schema"

	jsonv2 "github.com/go-json-experiment/json"
)

// table is a table of facts that are gathered from each record of a kind. A
// question reads it for the whole shop, and looks into single records for what
// it does not hold. It is declared once, with what makes its rows: beside its
// question, or in a file of its own when several read it.
type table[T any] struct {
	kind schema.RecordKind
	name string
}

// read hands over the facts of each record as they were gathered.
func (t table[T]) read(src Source, visit func(record string, facts []byte) error) error {
	return src.Facts(t.kind, t.name, visit)
}

// vehicleTable is a table whose rows are made from a vehicle, and are JSON.
func vehicleTable[T any](name string, rows func(subject) []T) table[T] {
	return rowTable(schema.VehicleRecord, name, rows)
}

func rowTable[T any](kind schema.RecordKind, name string, rows func(subject) []T) table[T] {
	gatherers = append(gatherers, gatherer{kind, name, true, func(s subject) ([]byte, error) { return encode(rows(s)) }})
	return table[T]{kind, name}
}

// textTable is a table whose facts of a vehicle are plain text, which is faster
// to read than JSON.
func textTable(name string, text func(subject) []byte) table[byte] {
	gatherers = append(gatherers, gatherer{schema.VehicleRecord, name, false, func(s subject) ([]byte, error) { return text(s), nil }})
	return table[byte]{schema.VehicleRecord, name}
}

// part is a table of which only some fields are decoded.
func part[Some, All any](t table[All]) table[Some] { return table[Some](t) }

// gatherer makes the facts of one table.
type gatherer struct {
	kind     schema.RecordKind
	table    string
	inAnswer bool // rows of answers are made from it, with the entries that they rest on
	facts    func(subject) ([]byte, error)
}

// gatherers are those of all tables, as they were declared.
var gatherers []gatherer

// subject is a record as tables see it.
type subject struct {
	schema.Record
	car        *state.Car // the record folded; nil unless it is a vehicle's, as all that follows
	visits     []past.Visit
	components []past.Component
	readings   map[string]schema.ReadingData // by entry: decoded once
}

func subjectOf(r schema.Record) subject {
	s := subject{Record: r}
	if r.Kind != schema.VehicleRecord {
		return s
	}
	s.car = state.Fold(state.Told(r), schema.Shop{}, time.Time{})
	s.visits = past.Visits(s.car)
	s.components = past.Components(s.car, s.visits)
	s.readings = make(map[string]schema.ReadingData, len(s.car.Readings))
	for _, r := range s.car.Readings {
		s.readings[r.Entry.ID] = r.Data
	}
	return s
}

// Gather makes the facts of a record from the record alone, by table: all but
// its words.
func Gather(r schema.Record) (map[string][]byte, error) {
	facts := map[string][]byte{}
	s := subjectOf(r)
	for _, g := range gatherers {
		if g.kind != r.Kind {
			continue
		}
		var err error
		if facts[g.table], err = g.facts(s); err != nil {
			return facts, fmt.Errorf("table %s: %w", g.table, err)
		}
	}
	return facts, nil
}

// encode writes rows as Gather keeps them: none as nothing.
func encode[T any](rows []T) ([]byte, error) {
	if len(rows) == 0 {
		return nil, nil
	}
	return json.Marshal(rows)
}

// decode reads rows that Gather wrote.
func decode[T any](facts []byte) (rows []T, err error) {
	err = jsonv2.Unmarshal(facts, &rows)
	return rows, err
}

// stamp is an entry: which, when and by whom.
type stamp struct {
	Entry string `json:"e"`
	Unix  int64  `json:"t"`
	By    string `json:"b,omitempty"`
}

func stampOf(e schema.Entry) *stamp { return &stamp{e.ID, e.At.Unix(), e.By} }

func (s *stamp) at() time.Time { return time.Unix(s.Unix, 0).UTC() }

// id is the stamp's entry; empty for none.
func (s *stamp) id() string {
	if s == nil {
		return ""
	}
	return s.Entry
}

// day is the stamp's date; empty for none.
func (s *stamp) day() string {
	if s == nil {
		return ""
	}
	return s.at().Format(time.DateOnly)
}
