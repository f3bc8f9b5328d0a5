package checklist

import (
	"feedproof/checklist/rules"
	"feedproof/schema"
)

// Parted splits the findings into those that say something was measured or
// done, and those that only wait for a reading or an answer.
func Parted(found []schema.Finding) (said, waiting []schema.Finding) {
	for _, f := range found {
		if f.Severity == schema.Unproven && f.Measured == rules.NotYet {
			waiting = append(waiting, f)
		} else {
			said = append(said, f)
		}
	}
	return said, waiting
}

// Changed lists the findings that are new or say something else than before.
func Changed(before, after []schema.Finding) []schema.Finding {
	type said struct {
		severity           schema.Severity
		measured, answered string
	}
	old := map[string]said{}
	for _, f := range before {
		old[f.Key()] = said{f.Severity, f.Measured, f.Answered}
	}
	var out []schema.Finding
	for _, f := range after {
		if was, there := old[f.Key()]; !there || was != (said{f.Severity, f.Measured, f.Answered}) {
			out = append(out, f)
		}
	}
	return out
}
