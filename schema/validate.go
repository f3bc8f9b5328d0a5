package schema

import (
	"bytes"
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/santhosh-tekuri/jsonschema/v5"
)

//go:generate go run feedproof/cmd/dev schemas v1

//go:embed v1/*.schema.json
var files embed.FS

// compiled holds the JSON Schema of each record kind, compiled when first used.
var compiled sync.Map // RecordKind -> func() (*jsonschema.Schema, error)

// Schema is the JSON Schema (2020-12) of a record kind, as text.
func Schema(kind RecordKind) ([]byte, error) { return files.ReadFile(schemaPath(kind)) }

func schemaPath(kind RecordKind) string { return fmt.Sprintf("v1/%s.schema.json", kind) }

func validator(kind RecordKind) (*jsonschema.Schema, error) {
	once, _ := compiled.LoadOrStore(kind, sync.OnceValues(func() (*jsonschema.Schema, error) { return compile(kind) }))
	return once.(func() (*jsonschema.Schema, error))()
}

func compile(kind RecordKind) (*jsonschema.Schema, error) {
	text, err := Schema(kind)
	if err != nil {
		return nil, fmt.Errorf("record kind %q: no schema", kind)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat = true
	c.LoadURL = func(url string) (io.ReadCloser, error) {
		return nil, fmt.Errorf("%s: schemas are never loaded from outside", url)
	}
	if err := c.AddResource(schemaPath(kind), bytes.NewReader(text)); err != nil {
		return nil, fmt.Errorf("schema %s: %w", kind, err)
	}
	return c.Compile(schemaPath(kind))
}

// InvalidError lists every place in which a record breaks its schema.
type InvalidError struct {
	ID       string
	Problems []Problem
}

func (e *InvalidError) Error() string {
	texts := make([]string, len(e.Problems))
	for i, p := range e.Problems {
		texts[i] = p.String()
	}
	return fmt.Sprintf("record %s: %s", e.ID, strings.Join(texts, "; "))
}

// Problem is one place in which a record breaks its schema. One of the record
// itself names no entry.
type Problem struct {
	Entry, Kind string // id and kind of the entry
	What        string // field and fault: "values/0/unit: ..."
}

func (p Problem) String() string {
	if p.Entry == "" && p.Kind == "" {
		return p.What
	}
	return fmt.Sprintf("entry %s (%s): %s", p.Entry, p.Kind, p.What)
}

func (e Entry) problem(what string) Problem { return Problem{e.ID, e.Kind, what} }

// Validate checks the whole record: its JSON Schema first, then what a schema
// cannot say (units that fit, tests that exist and their values, the canonical
// form and order of the entries), and that what is written can be read again.
//
// Errors: *[InvalidError] naming each entry and field; *[TooNewError].
func (r Record) Validate() error {
	if r.Version > MaxVersion {
		return &TooNewError{ID: r.ID, Have: MaxVersion, Need: r.Version}
	}
	s, err := validator(r.Kind)
	if err != nil {
		return err
	}
	if err := r.CheckSize(); err != nil {
		return err
	}
	var document any
	dec := json.NewDecoder(bytes.NewReader(r.Encode()))
	dec.UseNumber()
	if err := dec.Decode(&document); err != nil {
		return fmt.Errorf("record %s: %w", r.ID, err)
	}
	problems := schemaProblems(s.Validate(document), r)
	if len(problems) == 0 {
		problems = append(r.formProblems(), r.meaningProblems()...)
	}
	if len(problems) > 0 {
		return &InvalidError{ID: r.ID, Problems: problems}
	}
	return nil
}

// CheckSize holds the record to MaxRecordBytes and MaxEntries.
func (r Record) CheckSize() error {
	if n := len(r.Encode()); n > MaxRecordBytes || len(r.Entries) > MaxEntries {
		return fmt.Errorf("record %s: %d bytes and %d entries, more than %d or %d", r.ID, n, len(r.Entries), MaxRecordBytes, MaxEntries)
	}
	return nil
}

// ValidateEntry checks one new entry as part of a record of that kind.
func ValidateEntry(kind RecordKind, id string, e Entry) error {
	return NewRecord(kind, id).With(e).Validate()
}

// formProblems lists the entries whose bytes are not in the form of RFC 8785,
// and those that stand out of order: both were not written by this program.
func (r Record) formProblems() []Problem {
	var problems []Problem
	for i, e := range r.Entries {
		if canonical, err := Canonical(e.raw); err != nil || !bytes.Equal(canonical, e.raw) {
			problems = append(problems, e.problem("is not in canonical form (RFC 8785)"))
		}
		if i > 0 && listed(r.Entries[i-1], e) >= 0 {
			problems = append(problems, e.problem("stands out of order"))
		}
	}
	return problems
}

func (r Record) meaningProblems() []Problem {
	var problems []Problem
	for _, e := range r.Entries {
		data, err := decodeData(r.Kind, e)
		if err == nil {
			if m, ok := data.(interface{ meaning() error }); ok {
				err = m.meaning()
			}
		}
		if err != nil {
			problems = append(problems, e.problem(err.Error()))
		}
	}
	return problems
}

// schemaProblems flattens a validation error to its leaves: jsonschema's own
// Error() would show only the first.
func schemaProblems(err error, r Record) []Problem {
	var invalid *jsonschema.ValidationError
	if !errors.As(err, &invalid) {
		if err != nil {
			return []Problem{{What: err.Error()}}
		}
		return nil
	}
	var problems []Problem
	seen := map[Problem]bool{}
	var walk func(*jsonschema.ValidationError)
	walk = func(v *jsonschema.ValidationError) {
		for _, cause := range v.Causes {
			walk(cause)
		}
		if len(v.Causes) > 0 {
			return
		}
		p := problemAt(v.InstanceLocation, v.Message, r)
		if !seen[p] {
			seen[p] = true
			problems = append(problems, p)
		}
	}
	walk(invalid)
	slices.SortFunc(problems, func(a, b Problem) int { return strings.Compare(a.String(), b.String()) }) // the library goes through objects in any order
	return problems
}

var entryPlace = regexp.MustCompile(`^/entries/(\d+)(?:/(.*))?$`)

// problemAt turns a JSON pointer into the entry and field a person knows.
func problemAt(pointer, message string, r Record) Problem {
	m := entryPlace.FindStringSubmatch(pointer)
	if m == nil {
		return Problem{What: strings.TrimPrefix(pointer, "/") + ": " + message}
	}
	i, err := strconv.Atoi(m[1])
	if err != nil || i >= len(r.Entries) {
		return Problem{What: pointer + ": " + message}
	}
	return r.Entries[i].problem(strings.TrimPrefix(m[2], "data/") + ": " + message)
}
