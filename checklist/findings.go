package checklist

import (
	"slices"

	"feedproof/checklist/rules"
	"feedproof/schema"
)

// Parted splits the findings into those that say something was measured or
// done, and those that only wait for a reading or an answer.
func Parted(found []schema.Finding) (said, waiting []schema.Finding) {
	for _, f := range found {
		if rules.Waits(f) {
			waiting = append(waiting, f)
		} else {
			said = append(said, f)
		}
	}
	return said, waiting
}

// Changed lists the findings that are new or say something else than before.
func Changed(before, after []schema.Finding) []schema.Finding {
	old := map[string]schema.Finding{}
	for _, f := range before {
		old[f.Key()] = f
	}
	return slices.DeleteFunc(slices.Clone(after), func(f schema.Finding) bool {
		was, there := old[f.Key()]
		return there && was.Severity == f.Severity && was.Answered == f.Answered && slices.Equal(was.Values, f.Values)
	})
}
