package procedures

import "strings"

// Fault is a line of the diagnosis table: what it looks like, what it may be,
// the likeliest first, and the next check.
type Fault struct {
	ID      string   `json:"id"` // DT01
	Symptom string   `json:"symptom"`
	Shows   []Sign   `json:"shows,omitempty"`   // each of them shows it; none: no record can
	Also    []Sign   `json:"also,omitempty"`    // one of them must be there too
	Without []Sign   `json:"without,omitempty"` // none of them may be there
	Causes  []Cause  `json:"causes"`
	Next    string   `json:"next"`
	Over    []string `json:"over,omitempty"` // faults that it explains better
	Source  string   `json:"source"`
}

// Cause is what may be behind a fault, and what shows that it is.
type Cause struct {
	Text  string `json:"text"`
	Shown []Sign `json:"shown_by,omitempty"`
}

// Sign is evidence of a fault: a rule that is broken ("L10"), broken in that
// way ("L14 lean"), or kept ("L21 OK"), or a signature that the log shows
// ("S04").
type Sign string

// Kept is the word of a sign that asks for a rule that is kept.
const Kept = "OK"

// Parts are the id of the rule or signature and the words that its finding
// must say.
func (s Sign) Parts() (id, words string) {
	id, words, _ = strings.Cut(string(s), " ")
	return id, words
}

// Fault finds a line of the diagnosis table by id.
func (b Book) Fault(id string) (Fault, bool) {
	for _, f := range b.Faults {
		if f.ID == id {
			return f, true
		}
	}
	return Fault{}, false
}
