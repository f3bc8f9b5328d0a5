package audit

import (
	"bytes"
	"encoding/json"
	"maps"
	"slices"
	"strings"
	"unicode"

	"feedproof/checklist/state"
	"feedproof/schema"
)

// TableWords is the table of each record's words. Only a search asks for it, so
// it is gathered by itself.
const TableWords = "words"

// GatherWords makes the words of a record, as plain text.
func GatherWords(r schema.Record) (map[string][]byte, error) {
	return map[string][]byte{TableWords: words(r)}, nil
}

// words is every word of a record that somebody may look for: names, plates,
// numbers of chassis, parts, lots and serials, persons and what was written in
// words; folded, each once, each at the start of a line.
func words(r schema.Record) []byte {
	all := newWordSet()
	all.add([]byte(r.ID))
	for _, e := range state.Written(r) {
		all.entry(e)
	}
	return []byte("\n" + strings.Join(slices.Sorted(maps.Keys(all.words)), "\n") + "\n")
}

// wordSet is the words of texts. Most texts come again and again, and are
// taken apart once.
type wordSet struct{ words, texts map[string]bool }

func newWordSet() wordSet { return wordSet{map[string]bool{}, map[string]bool{}} }

func (s wordSet) entry(e schema.Entry) {
	s.add([]byte(e.By))
	texts(e.Data, func(key, text []byte) {
		if !slices.Contains(unsearched, string(key)) {
			s.add(text)
		}
		if tail := len(text) - endOfVIN; string(key) == "vin" && tail > 0 {
			s.add(text[tail:])
		}
	})
}

// endOfVIN is how much of a chassis number people say: its serial number.
const endOfVIN = 6

func (s wordSet) add(text []byte) {
	if !s.texts[string(text)] {
		s.texts[string(text)] = true
		addWords(s.words, string(text))
	}
}

// texts hands over the texts of a JSON value with the key that each stands
// under. The value has been read before, so its form is not checked again.
func texts(data []byte, visit func(key, text []byte)) {
	var key []byte
	for {
		_, rest, more := bytes.Cut(data, quote)
		if !more {
			return
		}
		end := textEnd(rest)
		if end < 0 {
			return
		}
		text := rest[:end]
		data = rest[end+1:]
		switch {
		case bytes.HasPrefix(bytes.TrimLeft(data, " \t\r\n"), []byte(":")):
			key = text
		case bytes.IndexByte(text, '\\') >= 0:
			var plain string
			if json.Unmarshal(slices.Concat(quote, text, quote), &plain) == nil {
				visit(key, []byte(plain))
			}
		default:
			visit(key, text)
		}
	}
}

var quote = []byte(`"`)

// textEnd is where a JSON text ends that has begun; -1 when it does not.
func textEnd(data []byte) int {
	end := bytes.IndexByte(data, '"')
	if end < 0 || bytes.IndexByte(data[:end], '\\') < 0 {
		return end
	}
	for i := 0; i < len(data); i++ {
		switch data[i] {
		case '\\':
			i++
		case '"':
			return i
		}
	}
	return -1
}

// unsearched are fields that nobody looks for by a word: hashes, keys,
// signatures, units and the entries that an entry names.
var unsearched = []string{"sha256", "original", "signature", "digest", "key", "unit", "value", "entry", "entries", "rests", "readings", "evidence", "class", "bumped", "due", "kind", "state", "action", "test"}

// addWords adds the words of a text, and a short text as a whole: "KT 42" is
// found as kt, as 42 and as kt42.
func addWords(all map[string]bool, text string) {
	parts := strings.FieldsFunc(text, func(r rune) bool { return !inWord(r) && !joinsWords(r) })
	for _, p := range parts {
		if w := foldWord(p); w != "" {
			all[w] = true
		}
		if strings.ContainsFunc(p, joinsWords) {
			for q := range strings.FieldsFuncSeq(p, joinsWords) {
				all[foldWord(q)] = true
			}
		}
	}
	if len(parts) > 1 && len(parts) <= 3 && len(text) <= 40 {
		all[foldWord(strings.Join(parts, ""))] = true
	}
}

func inWord(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }

func joinsWords(r rune) bool { return r == '-' || r == '_' || r == '.' }

// foldWord makes words equal that are written a little differently.
func foldWord(w string) string {
	return strings.Map(func(r rune) rune {
		if inWord(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, w)
}
