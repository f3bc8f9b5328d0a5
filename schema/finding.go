package schema

import (
	"fmt"
	"strings"

	"feedproof/schema/code"
)

// Severity is what a finding means for the car, in order of weight.
type Severity int

// Severities, lightest first.
const (
	OK       Severity = iota // the evidence shows it within the limit
	Note                     // information
	Flag                     // must be acknowledged before sign-off
	Unproven                 // evidence cannot decide: treated as not done
	Hold                     // fix, or a lead waives
	Block                    // no waiver exists: fix, or where that mends it lower the envelope
	Stop                     // stop the physical work now
)

var severityNames = [...]string{"OK", "NOTE", "FLAG", "UNPROVEN", "HOLD", "BLOCK", "STOP"}

func (s Severity) String() string {
	if s < 0 || int(s) >= len(severityNames) {
		return fmt.Sprintf("Severity(%d)", int(s))
	}
	return severityNames[s]
}

// MarshalText writes the severity as its word.
func (s Severity) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads the word of a severity.
func (s *Severity) UnmarshalText(b []byte) error {
	for i, name := range severityNames {
		if name == string(b) {
			*s = Severity(i)
			return nil
		}
	}
	return fmt.Errorf("severity: %q is not one of %v", b, severityNames)
}

// Finding is what a rule says about a record. Rule, subject and code say which
// finding it is; the values and limits are what it was judged by. What a person
// reads of it is made of these, and may be worded otherwise tomorrow.
type Finding struct {
	Rule     string    `json:"rule"`                         // L01, K05, ...
	Subject  string    `json:"subject"`                      // place, joint, reading, hold point, caution or entry that it is about
	Code     code.Code `json:"code"`                         // why it is as it is
	Severity Severity  `json:"severity"`                     // weight, OK to STOP
	Values   []Amount  `json:"values,omitempty"`             // what was measured or computed, by name
	Limits   []Bound   `json:"limits,omitempty"`             // what the values of those names may be
	About    string    `json:"about"`                        // what was judged, in words: "flow margin"
	Measured string    `json:"measured" form:"blank"`        // what was measured or computed, in words
	Limit    string    `json:"limit" form:"blank"`           // the limit it was compared with, in words
	Means    string    `json:"means" form:"blank"`           // what it means for the car; blank where nothing is to be mended
	Next     string    `json:"next" form:"blank"`            // what to do next; blank where nothing is to be mended
	Entries  []string  `json:"entries,omitempty" form:"id"`  // the entries it rests on
	Answered string    `json:"answered,omitempty" form:"id"` // the entry that acknowledged or waived it
}

// Amount is a quantity, or a word, that a finding speaks of.
type Amount struct {
	Name  string `json:"name"`           // what it is
	Value string `json:"value"`          // number, or a word
	Unit  string `json:"unit,omitempty"` // unit of the number; none for a word
	U     string `json:"u,omitempty"`    // half-width of its uncertainty, in the same unit
}

// Bound is what a value may be: at least, at most, or both.
type Bound struct {
	Name    string `json:"name"`               // of the value
	AtLeast string `json:"at_least,omitempty"` // number
	AtMost  string `json:"at_most,omitempty"`  // number
	Unit    string `json:"unit,omitempty"`     // of the numbers
}

// Key names the finding so that an answer can point at it. Rule and code are
// single words, so it can be read only one way.
func (f Finding) Key() string { return f.Topic() + " " + string(f.Code) }

// Topic is what the finding judges, whatever it says of it: rule and subject.
func (f Finding) Topic() string { return f.Rule + " " + f.Subject }

// Name is how people call the finding: by its rule and what was judged, in words.
func (f Finding) Name() string { return f.Rule + " " + f.About }

// Text is the values in words: "lost 0.55 V, highest 3 bar".
func Text(values []Amount) string {
	texts := make([]string, len(values))
	for i, v := range values {
		texts[i] = strings.TrimSpace(v.Name + " " + v.Value + " " + v.Unit)
	}
	return strings.Join(texts, ", ")
}

// Open reports that the finding keeps the car from a clean commit or sign-off.
func (f Finding) Open() bool { return f.Severity >= Hold && f.Answered == "" }

// Shop is what rules may know beside the record: the shop's own record, the
// gauges and parts that the record names, and what other cars claim.
type Shop struct {
	Record Record
	Gauge  func(id string) (Record, bool)
	Part   func(id string) (Record, bool)
	Claims []Claim // of other cars, on what this one claims too; nil when nobody looked
	// Committers are who put entries of the car's visit into its record; nil when nobody looked.
	Committers []string
	// Elsewhere are the entries of this car that other bays have in their drafts, as far as they came here: what is bad
	// in them counts, and what is good does not until it is committed.
	Elsewhere []Entry
}

// Claim is what another car's record says of one physical thing that can be in
// one place only: a part by its serial, fitted there now, or a chassis number.
type Claim struct {
	Vehicle  string // record
	Name     string // of that car
	Serial   string
	Position string // where it is fitted
	Part     string // part record; empty for none
	VIN      string
}
