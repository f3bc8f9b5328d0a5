package cli

import (
	"slices"
	"strings"

	"feedproof/schema"
)

// named puts the car's name where a finding's next step says CAR, so that the
// line can be typed as it stands.
func named(found []schema.Finding, car string) []schema.Finding {
	out := slices.Clone(found)
	for i := range out {
		out[i].Next = forCar(out[i].Next, car)
	}
	return out
}

func forCar(text, car string) string { return strings.ReplaceAll(text, " CAR", " "+quoted(car)) }

// waiting lists what is not recorded yet: one line each, with what it asks for.
func (s *session) waiting(found []schema.Finding) {
	if len(found) == 0 {
		return
	}
	if s.Terminal() {
		s.Head("%s for a record:", plural(len(found), "thing")+" waiting")
	}
	var rows [][]string
	for _, f := range found {
		rows = append(rows, []string{s.Short(f.Severity), f.Rule, f.About + ": " + f.Limit})
	}
	s.Table([]string{"", "RULE", "WHAT: WHAT SHOWS IT"}, rows)
}
