package desk

import (
	"slices"
	"strings"

	"feedproof/checklist"
	"feedproof/schema"
)

// Finding finds the open finding that an answer is for, by rule or by rule and
// subject. Several of one rule: say which.
func Finding(a checklist.Assessment, carName, name string, severities ...schema.Severity) (schema.Finding, error) {
	var found []schema.Finding
	for _, f := range a.Findings {
		if f.Answered == "" && slices.Contains(severities, f.Severity) && strings.HasPrefix(Fold(f.Key()), Fold(name)) {
			found = append(found, f)
		}
	}
	fix := "feedproof check " + Quoted(carName)
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return schema.Finding{}, usage(fix, "finding "+name, "none is open at %s", severityWords(severities))
	}
	var keys []string
	for _, f := range found {
		keys = append(keys, Quoted(f.Key()))
	}
	return schema.Finding{}, usage(fix, "finding "+name, "could be %s", strings.Join(keys, " or "))
}

func severityWords(of []schema.Severity) string {
	var out []string
	for _, s := range of {
		out = append(out, s.String())
	}
	return strings.Join(out, " or ")
}
