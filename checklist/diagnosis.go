package checklist

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"feedproof/checklist/datalog"
	"feedproof/checklist/procedures"
	"feedproof/schema"
)

// Diagnosis is one fault that the findings look like together.
type Diagnosis struct {
	Fault    string   `json:"fault"` // DT03, a line of the diagnosis table
	Symptom  string   `json:"symptom"`
	Shown    []string `json:"shown_by"` // what it rests on: findings and signatures of the log
	Causes   []string `json:"causes"`   // those that something shows first, then the likeliest
	Next     string   `json:"next"`
	severity schema.Severity
}

// Diagnose orders the likely causes of what was found, by the diagnosis table:
// the fault with the heaviest findings first. A fault that another explains
// better is left out.
func Diagnose(a Assessment) []Diagnosis {
	e := evidence{findings: a.Findings, seen: map[string]string{}}
	if c := a.Car; len(c.Logs) > 0 && c.InVisit(c.Logs[len(c.Logs)-1].Entry) {
		for _, v := range c.Logs[len(c.Logs)-1].Data.Verdicts {
			if v.State == string(datalog.Seen) {
				e.seen[v.ID] = v.Text
			}
		}
	}
	var out []Diagnosis
	var better []string
	for _, f := range a.Car.Book.Faults {
		if d, ok := e.diagnose(f); ok {
			out, better = append(out, d), append(better, f.Over...)
		}
	}
	out = slices.DeleteFunc(out, func(d Diagnosis) bool { return slices.Contains(better, d.Fault) })
	slices.SortStableFunc(out, func(a, b Diagnosis) int {
		return cmp.Or(cmp.Compare(b.severity, a.severity), cmp.Compare(len(b.Shown), len(a.Shown)))
	})
	return out
}

// evidence is what signs are looked for in.
type evidence struct {
	findings []schema.Finding
	seen     map[string]string // signatures that the log shows
}

func (e evidence) diagnose(f procedures.Fault) (Diagnosis, bool) {
	shown, worst := e.all(f.Shows)
	if len(shown) == 0 || len(f.Shows) == 0 {
		return Diagnosis{}, false
	}
	if len(f.Also) > 0 {
		also, heavier := e.all(f.Also)
		if len(also) == 0 {
			return Diagnosis{}, false
		}
		shown, worst = append(shown, also...), max(worst, heavier)
	}
	if against, _ := e.all(f.Without); len(against) > 0 {
		return Diagnosis{}, false
	}
	d := Diagnosis{Fault: f.ID, Symptom: f.Symptom, Causes: e.causes(f.Causes), Next: f.Next, severity: worst}
	for _, s := range shown {
		if !slices.Contains(d.Shown, s) {
			d.Shown = append(d.Shown, s)
		}
	}
	return d, true
}

// causes puts those first that something shows, with what shows them.
func (e evidence) causes(list []procedures.Cause) []string {
	var shown, likely []string
	for _, c := range list {
		if signs, _ := e.all(c.Shown); len(signs) > 0 {
			shown = append(shown, fmt.Sprintf("%s: %s", c.Text, strings.Join(signs, "; ")))
		} else {
			likely = append(likely, c.Text)
		}
	}
	return append(shown, likely...)
}

// all lists the signs that are there, as a person reads them, and the weight of
// the heaviest.
func (e evidence) all(signs []procedures.Sign) (shown []string, worst schema.Severity) {
	for _, s := range signs {
		id, words := s.Parts()
		if text, ok := e.seen[id]; ok {
			shown, worst = append(shown, strings.TrimSpace(id+" "+text)), max(worst, schema.Flag)
		}
		for _, f := range e.findings {
			if f.Rule == id && says(f, words) {
				shown, worst = append(shown, fmt.Sprintf("%s %s: %s", f.Rule, f.About, f.Measured)), max(worst, f.Severity)
			}
		}
	}
	return shown, worst
}

// says reports that a finding says that its rule is broken, in those words, or
// kept. What is not proven shows nothing.
func says(f schema.Finding, words string) bool {
	if words == procedures.Kept {
		return f.Severity == schema.OK
	}
	return f.Severity >= schema.Flag && f.Severity != schema.Unproven && strings.Contains(strings.Join([]string{f.About, f.Measured, f.Means}, "; "), words)
}
