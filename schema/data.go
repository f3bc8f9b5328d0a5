package schema

import "errors"

// Data is the content of an entry. Each kind is one struct in the data_*.go
// file of its record; kinds.go lists them. The JSON Schema is generated from
// these structs: a field without omitempty or omitzero is required, and text
// that stands there is not empty. A form tag says more about a text or a list
// of texts: date or time (RFC 3339), id, sha256, number, unit, state, or blank
// when it may be empty.
type Data interface {
	EntryKind() string
}

// Answer is a question answered yes or no, or honestly not known. Rules take
// unknown for the worse case.
type Answer string

// Answers.
const (
	Yes      Answer = "yes"
	No       Answer = "no"
	NotKnown Answer = "unknown"
)

// Values lists the words an Answer may be, for the schema.
func (Answer) Values() []string { return []string{string(Yes), string(No), string(NotKnown)} }

// Worst resolves an answer that is not known to the worse case.
func (a Answer) Worst(worse bool) bool {
	switch a {
	case Yes:
		return true
	case No:
		return false
	}
	return worse
}

// NoteData is free text beside the facts, in any record.
type NoteData struct {
	Text string `json:"text"` // what was noted, in words
}

// EntryKind names the kind.
func (NoteData) EntryKind() string { return "note" }

// CorrectData answers an earlier entry of the same record without removing it.
type CorrectData struct {
	Entry  string     `json:"entry" form:"id"`             // the entry that was wrong
	Action CorrectAct `json:"action"`                      // what is done about it
	Why    string     `json:"why"`                         // in words
	By     string     `json:"instead,omitempty" form:"id"` // the entry that holds the right value
	To     string     `json:"to,omitempty" form:"id"`      // the vehicle it belongs to, for a move
}

// EntryKind names the kind.
func (CorrectData) EntryKind() string { return "correct" }

// meaning asks for the entry or the vehicle that the action needs.
func (c CorrectData) meaning() error {
	switch {
	case c.Action == Replace && c.By == "":
		return errors.New("instead: is missing for a replace: name the entry that holds the right value")
	case c.Action == Move && c.To == "":
		return errors.New("to: is missing for a move: name the vehicle it belongs to")
	}
	return nil
}

// CorrectAct is what a correction does to the entry it names.
type CorrectAct string

// Corrections.
const (
	Void    CorrectAct = "void"    // it never held
	Replace CorrectAct = "replace" // another entry holds the right value
	Move    CorrectAct = "move"    // it belongs to another car
)

// Values lists the words a CorrectAct may be, for the schema.
func (CorrectAct) Values() []string { return []string{string(Void), string(Replace), string(Move)} }
