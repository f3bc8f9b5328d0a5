package schema

import "fmt"

// Severity is what a finding means for the car, in order of weight.
type Severity int

// Severities, lightest first.
const (
	OK       Severity = iota // the evidence shows it within the limit
	Note                     // information
	Flag                     // must be acknowledged before sign-off
	Unproven                 // evidence cannot decide: treated as not done
	Hold                     // fix, or a lead waives
	Block                    // no waiver exists: fix, or lower the envelope
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

// Finding is what a rule says about a record.
type Finding struct {
	Rule     string   `json:"rule"`                         // L01, K05, ...
	Severity Severity `json:"severity"`                     // weight, OK to STOP
	About    string   `json:"about"`                        // what was judged: "flow margin", "base pressure"
	Measured string   `json:"measured" form:"blank"`        // what was measured or computed, with its unit
	Limit    string   `json:"limit" form:"blank"`           // the limit it was compared with
	Means    string   `json:"means" form:"blank"`           // what it means for the car
	Next     string   `json:"next" form:"blank"`            // what to do next
	Entries  []string `json:"entries,omitempty" form:"id"`  // the entries it rests on
	Answered string   `json:"answered,omitempty" form:"id"` // the entry that acknowledged or waived it
}

// Key names the finding so that an answer can point at it: the rule and what
// it judged.
func (f Finding) Key() string { return f.Rule + " " + f.About }

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
