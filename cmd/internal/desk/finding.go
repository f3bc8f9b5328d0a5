package desk

import (
	"slices"
	"strings"

	"feedproof/checklist"
	"feedproof/schema"
)

// Finding finds the open finding that an answer is for, by its rule, its name or
// its key, or the beginning of one. Several: say which.
func Finding(a checklist.Assessment, carName, name string, severities ...schema.Severity) (schema.Finding, error) {
	var found, exact []schema.Finding
	for _, f := range a.Findings {
		if f.Answered != "" || !slices.Contains(severities, f.Severity) {
			continue
		}
		names := []string{Fold(f.Key()), Fold(f.Name())}
		if slices.ContainsFunc(names, func(known string) bool { return strings.HasPrefix(known, Fold(name)) }) {
			found = append(found, f)
		}
		if slices.Contains(names, Fold(name)) {
			exact = append(exact, f)
		}
	}
	if len(exact) == 1 {
		return exact[0], nil
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
