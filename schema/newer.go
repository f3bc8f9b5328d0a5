package schema

import (
	"bytes"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
	"sync"

	"feedproof/schema/quantity"

	"github.com/go-json-experiment/json/jsontext"
)

// Newer says what of an entry only a newer feedproof knows: its kind, a field, a
// word, a unit, a reading or a value of one. It is empty when this program knows
// all of it. Such an entry is kept and handed on as it is, and what it may
// concern cannot be judged here.
func Newer(kind RecordKind, e Entry) string {
	t, known := dataType(kind, e.Kind)
	if !known && isKind(e.Kind) {
		return "" // wrong, and not new: a kind belongs to its records for ever
	}
	if !known {
		return fmt.Sprintf("kind %q", e.Kind)
	}
	if !jsontext.Value(e.Data).IsValid() {
		return "" // broken, for others to say; the walk needs every token
	}
	dec := jsontext.NewDecoder(bytes.NewReader(e.Data))
	if found := walk(dec, knowledge(t)); found != "" {
		return found
	}
	if e.Kind == (ReadingData{}).EntryKind() {
		if d, err := Into[ReadingData](e); err == nil {
			return d.newer()
		}
	}
	return ""
}

// isKind reports whether an entry kind stands in any record.
func isKind(entryKind string) bool {
	return slices.ContainsFunc(RecordKinds, func(r RecordKind) bool { _, known := dataType(r, entryKind); return known })
}

// newer says which test, value or word of a reading is not in the table.
func (r ReadingData) newer() string {
	t, known := FindReading(r.Test)
	if !known {
		return fmt.Sprintf("reading %q", r.Test)
	}
	for _, v := range r.Values {
		tv, known := t.Value(v.Name)
		if !known {
			return fmt.Sprintf("value %q of reading %q", v.Name, r.Test)
		}
		if v.Seen != "" && len(tv.Seen) > 0 && !slices.Contains(tv.Seen, v.Seen) {
			return fmt.Sprintf("word %q of reading %q", v.Seen, r.Test)
		}
	}
	return ""
}

// known is what this program knows of a type: the fields of an object, what
// stands in a list, or the words of a text. Nil words are any text.
type known struct {
	fields map[string]*known
	items  *known
	words  map[string]bool
	what   string // of words: word, unit
}

var knowledges sync.Map // reflect.Type -> *known

func knowledge(t reflect.Type) *known {
	if k, made := knowledges.Load(t); made {
		return k.(*known)
	}
	k := learn(t)
	knowledges.Store(t, k)
	return k
}

var units = sync.OnceValue(func() *known {
	k := &known{what: "unit", words: map[string]bool{}}
	for _, spelling := range quantity.AllSpellings() {
		k.words[spelling.Text] = true
	}
	return k
})

func learn(t reflect.Type) *known {
	if words, closed := reflect.Zero(t).Interface().(interface{ Values() []string }); closed && t.Kind() == reflect.String {
		return wordsOf(words.Values())
	}
	switch {
	case t == reflect.TypeFor[Severity]():
		return wordsOf(severityNames[:])
	case strings.HasPrefix(t.Name(), "Q["):
		return &known{fields: map[string]*known{"value": {}, "unit": units(), "state": wordsOf([]string{Unknown, NotMeasured, NotApplicable}), "why": {}}}
	case t == reflect.TypeFor[quantity.Written]():
		return &known{fields: map[string]*known{"value": {}, "unit": units()}}
	case t.Kind() == reflect.Pointer:
		return knowledge(t.Elem())
	case t.Kind() == reflect.Slice:
		return &known{items: knowledge(t.Elem())}
	case t.Kind() == reflect.Struct:
		return learnFields(t)
	}
	return &known{}
}

func wordsOf(words []string) *known {
	k := &known{what: "word", words: map[string]bool{"": true}}
	for _, w := range words {
		k.words[w] = true
	}
	return k
}

func learnFields(t reflect.Type) *known {
	k := &known{fields: map[string]*known{}}
	for i := range t.NumField() {
		f := t.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		if f.Tag.Get("form") == "unit" {
			k.fields[name] = units()
			continue
		}
		k.fields[name] = knowledge(f.Type)
	}
	return k
}

// walk reads one JSON value, which is valid, and says what of it is not known.
func walk(dec *jsontext.Decoder, k *known) string {
	switch token, err := dec.ReadToken(); {
	case err != nil:
		return ""
	case token.Kind() == '{':
		return walkObject(dec, k)
	case token.Kind() == '[':
		return walkList(dec, k)
	case token.Kind() == '"' && k.words != nil && !k.words[token.String()]:
		return fmt.Sprintf("%s %q", k.what, token.String())
	}
	return ""
}

func walkObject(dec *jsontext.Decoder, k *known) string {
	for dec.PeekKind() == '"' {
		name, err := dec.ReadToken()
		if err != nil {
			return ""
		}
		field, there := k.fields[name.String()]
		if !there && k.fields != nil {
			return fmt.Sprintf("field %q", name.String())
		}
		if field == nil {
			field = &known{}
		}
		if found := walk(dec, field); found != "" {
			return found
		}
	}
	_, _ = dec.ReadToken()
	return ""
}

func walkList(dec *jsontext.Decoder, k *known) string {
	items := k.items
	if items == nil {
		items = &known{}
	}
	for kind := dec.PeekKind(); kind != ']' && kind != 0; kind = dec.PeekKind() {
		if found := walk(dec, items); found != "" {
			return found
		}
	}
	_, _ = dec.ReadToken()
	return ""
}

// Knowledge lists what this program knows of the format, sorted: each kind of
// entry with its fields, each reading, each unit. A shop's record holds such a
// list for every machine, so that a lead sees which of them is behind.
func Knowledge() []string {
	all := map[string]bool{}
	for record, kinds := range kinds {
		for _, data := range kinds {
			all[fmt.Sprintf("%s %s", record, data.EntryKind())] = true
			for field := range knowledge(reflect.TypeOf(data)).fields {
				all[fmt.Sprintf("%s %s.%s", record, data.EntryKind(), field)] = true
			}
		}
	}
	for _, r := range Readings {
		all["reading "+r.Name] = true
	}
	for _, u := range quantity.AllSpellings() {
		all["unit "+u.Text] = true
	}
	return slices.Sorted(maps.Keys(all))
}

// ValidateKnown is [Record.Validate] for what came from elsewhere: of an entry
// that only a newer program knows whole, the form alone is checked.
func (r Record) ValidateKnown() error {
	whole := r
	whole.Entries = slices.DeleteFunc(slices.Clone(r.Entries), func(e Entry) bool { return Newer(r.Kind, e) != "" })
	if len(whole.Entries) < len(r.Entries) {
		if problems := r.formProblems(); len(problems) > 0 {
			return &InvalidError{ID: r.ID, Problems: problems}
		}
	}
	return whole.Validate()
}
