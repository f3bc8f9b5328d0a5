package cli

import (
	"strings"

	"feedproof/checklist"
	"feedproof/schema"
)

// finding finds the open finding that an answer is for, by its rule, its name or
// its key, or the beginning of one. Several: say which.
func (s *session) finding(a checklist.Assessment, carName, name string, severities ...schema.Severity) (schema.Finding, error) {
	var found, exact []schema.Finding
	for _, f := range a.Findings {
		if f.Answered != "" || !isOneOf(f.Severity, severities) {
			continue
		}
		for _, known := range []string{f.Key(), f.Name()} {
			if strings.HasPrefix(fold(known), fold(name)) {
				found = append(found, f)
				break
			}
		}
		if fold(f.Key()) == fold(name) || fold(f.Name()) == fold(name) {
			exact = append(exact, f)
		}
	}
	if len(exact) == 1 {
		return exact[0], nil
	}
	fix := "feedproof check " + quoted(carName)
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return schema.Finding{}, wrong(fix, "finding %s: none is open at %s", name, severityWords(severities))
	}
	var keys []string
	for _, f := range found {
		keys = append(keys, quoted(f.Key()))
	}
	return schema.Finding{}, wrong(fix, "finding %s: could be %s", name, strings.Join(keys, " or "))
}

func isOneOf(s schema.Severity, of []schema.Severity) bool {
	for _, o := range of {
		if s == o {
			return true
		}
	}
	return false
}

func severityWords(of []schema.Severity) string {
	var out []string
	for _, s := range of {
		out = append(out, s.String())
	}
	return strings.Join(out, " or ")
}
