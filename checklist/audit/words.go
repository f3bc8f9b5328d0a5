package audit

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"
	"unicode"

	"feedproof/schema"
)

// words is every word of a record that somebody may look for: names, plates,
// numbers of chassis, parts, lots and serials, persons and what was written in
// words; folded, each once, each at the start of a line.
func words(r schema.Record) []byte {
	all := map[string]bool{}
	addWords(all, r.ID)
	for _, e := range r.Entries {
		entryWords(all, e)
	}
	sorted := make([]string, 0, len(all))
	for w := range all {
		sorted = append(sorted, w)
	}
	slices.Sort(sorted)
	return []byte("\n" + strings.Join(sorted, "\n") + "\n")
}

func entryWords(all map[string]bool, e schema.Entry) {
	addWords(all, e.By)
	texts(e.Data, func(key, text string) {
		if !slices.Contains(unsearched, key) {
			addWords(all, text)
		}
	})
}

// texts hands over the texts of a JSON value with the key that each stands
// under. The value has been read before, so its form is not checked again.
func texts(data []byte, visit func(key, text string)) {
	key := ""
	for i := 0; i < len(data); i++ {
		if data[i] != '"' {
			continue
		}
		end := i + 1
		for end < len(data) && data[end] != '"' {
			if data[end] == '\\' {
				end++
			}
			end++
		}
		if end >= len(data) {
			return
		}
		text := data[i+1 : end]
		i = end
		after := bytes.TrimLeft(data[end+1:], " \t\r\n")
		switch {
		case len(after) > 0 && after[0] == ':':
			key = string(text)
		case bytes.IndexByte(text, '\\') >= 0:
			var plain string
			if json.Unmarshal(data[i-len(text)-1:end+1], &plain) == nil {
				visit(key, plain)
			}
		default:
			visit(key, string(text))
		}
	}
}

// unsearched are fields that nobody looks for by a word: hashes, keys,
// signatures, units and the entries that an entry names.
var unsearched = []string{"sha256", "original", "signature", "digest", "key", "unit", "value", "entry", "entries", "rests", "readings", "evidence", "class", "bumped", "due", "kind", "state", "action", "test"}

// addWords adds the words of a text, and a short text as a whole: "KT 42" is
// found as kt, as 42 and as kt42.
func addWords(all map[string]bool, text string) {
	parts := strings.FieldsFunc(text, func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !strings.ContainsRune("-_.", r)
	})
	for _, p := range parts {
		if w := foldWord(p); w != "" {
			all[w] = true
		}
		for _, q := range strings.FieldsFunc(p, func(r rune) bool { return strings.ContainsRune("-_.", r) }) {
			all[foldWord(q)] = true
		}
	}
	if len(parts) > 1 && len(parts) <= 3 && len(text) <= 40 {
		all[foldWord(strings.Join(parts, ""))] = true
	}
}

// foldWord makes words equal that are written a little differently.
func foldWord(w string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, w)
}
