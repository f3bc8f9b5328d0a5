package checklist

import (
	"time"

	"feedproof/checklist/rules"
	"feedproof/checklist/state"
	"feedproof/schema"
)

// answer marks the findings that an acknowledgement or a waiver answers. An
// answer holds only for what was measured when it was given: any change lapses
// it.
func answer(c *state.Car, found []schema.Finding) {
	for i := range found {
		f := &found[i]
		switch f.Severity {
		case schema.Flag:
			f.Answered = acknowledged(c, *f)
		case schema.Hold, schema.Unproven:
			f.Answered = waived(c, *f)
		}
	}
}

func acknowledged(c *state.Car, f schema.Finding) string {
	for i := len(c.Acks) - 1; i >= 0; i-- {
		if a := c.Acks[i]; a.Data.Finding == f.Key() && a.Data.Measured == f.Measured {
			return a.Entry.ID
		}
	}
	return ""
}

func waived(c *state.Car, f schema.Finding) string {
	for i := len(c.Waivers) - 1; i >= 0; i-- {
		w := c.Waivers[i]
		if w.Data.Finding == f.Key() && w.Data.Measured == f.Measured && w.Data.Limit == f.Limit && len(WaiverTrouble(c, f, w.Entry.By, w.Data)) == 0 {
			return w.Entry.ID
		}
	}
	return ""
}

// WaiverTrouble says why a waiver does not hold: nothing when it does.
func WaiverTrouble(c *state.Car, f schema.Finding, by string, w schema.WaiveData) []string {
	var trouble []string
	say := func(bad bool, text string) {
		if bad {
			trouble = append(trouble, text)
		}
	}
	say(!waivable(c, f), f.Rule+" "+f.Severity.String()+" is never waived: fix it, or lower the envelope")
	say(!c.IsLead(by), by+" is not a lead")
	say(worked(c, by), by+" worked on this car: another lead must waive")
	say(words(w.Why) < waiverWords, "the reason is too short: say in 15 words or more why it may stand")
	say(words(w.Measure) == 0, "no compensating measure is named")
	say(w.Informed != schema.Yes, "the customer was not informed")
	expires, err := time.Parse(time.DateOnly, w.Expires)
	say(err != nil, "the expiry date cannot be read")
	say(err == nil && c.Now.After(expires.AddDate(0, 0, 1)), "it expired on "+w.Expires)
	return trouble
}

const waiverWords = 15

// waivable reports that a lead could answer the finding: a HOLD of a rule that
// is not on the never-waive list, or an open caution whose data names who may.
func waivable(c *state.Car, f schema.Finding) bool {
	if rule, ok := rules.Find(f.Rule); ok {
		return f.Severity == schema.Hold && !rule.Never
	}
	caution, ok := c.Book.Caution(f.Rule)
	return ok && caution.Waive != "" && f.Severity <= schema.Hold
}
