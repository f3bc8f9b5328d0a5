// Package language holds what the guided screens say, in every language there
// is: one catalogue a language, of the same keys.
//
// Start with [In]. English is complete and stands in for what another language
// lacks. Adding a language is adding its file; the tests hold it to the keys
// and the gaps of the English one. What is deliberately absent: the words of
// rules and procedures, which are judged in English, and any record: facts are
// stored as they were typed.
package language

import (
	"embed"
	"encoding/json"
	"fmt"
	"io/fs"
	"slices"
	"strings"
	"sync"
)

//go:embed *.json
var files embed.FS

// Default is the language that is complete.
const Default = "en"

// Words are the texts of a language.
type Words struct {
	Code string
	said map[string]string
}

// Codes lists the languages there are, by their BCP 47 code.
func Codes() []string {
	names, _ := fs.Glob(files, "*.json")
	for i, n := range names {
		names[i] = strings.TrimSuffix(n, ".json")
	}
	slices.Sort(names)
	return names
}

// In is the words of a language; of English when there is no such language.
func In(code string) Words {
	said, ok := load()[code]
	if !ok {
		code, said = Default, load()[Default]
	}
	return Words{code, said}
}

// load reads every catalogue once. They are the program's own: a broken one is
// a defect that the tests catch.
var load = sync.OnceValue(func() map[string]map[string]string {
	all := map[string]map[string]string{}
	for _, code := range Codes() {
		text, _ := files.ReadFile(code + ".json")
		said := map[string]string{}
		if json.Unmarshal(text, &said) == nil {
			all[code] = said
		}
	}
	return all
})

// Say is the text of a key, its gaps filled.
func (w Words) Say(key string, args ...any) string {
	text, ok := w.said[key]
	if !ok {
		text, ok = load()[Default][key]
	}
	if !ok {
		return key
	}
	if len(args) == 0 {
		return text
	}
	return fmt.Sprintf(text, args...)
}
