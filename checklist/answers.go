package checklist

import (
	"math"
	"slices"
	"strconv"
	"time"

	"feedproof/checklist/rules"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

// answer marks the findings that an acknowledgement or a waiver answers.
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
	for _, a := range slices.Backward(c.Acks) {
		if a.Data.Key() == f.Key() && holds(c, a.Entry, a.Data.Values, f) && AnswerTrouble(c, f, a.Entry.By) == "" {
			return a.Entry.ID
		}
	}
	return ""
}

// AnswerTrouble says why a person's word does not answer a FLAG: nothing when it
// does. Where somebody else works too, a lead answers who did not do that work;
// for what is never waived, and for a proof that was written after the act, one
// who did not work on the car.
func AnswerTrouble(c *state.Car, f schema.Finding, by string) string {
	if Alone(c, by) {
		return ""
	}
	rule, _ := rules.Find(f.Rule)
	switch {
	case f.Code == code.Tardy || rule.Never && f.Severity == schema.Flag:
		if !c.IsLead(by) || worked(c, by) {
			return "a lead who did not work on the car answers it"
		}
	case slices.ContainsFunc(f.Entries, func(id string) bool { e, there := c.Record.Entry(id); return there && e.By == by && state.IsWork(e) }):
		return by + " did that work: another lead answers it"
	case !c.IsLead(by):
		return by + " is not a lead: a lead who did not do that work answers it"
	}
	return ""
}

func waived(c *state.Car, f schema.Finding) string {
	for _, w := range slices.Backward(c.Waivers) {
		if w.Data.Key() == f.Key() && holds(c, w.Entry, w.Data.Values, f) && len(WaiverTrouble(c, f, w.Entry.By, w.Data)) == 0 {
			return w.Entry.ID
		}
	}
	return ""
}

// holds reports that an answer still holds for what a finding says: whoever gave
// it had seen everything that the finding rests on, and no value is worse now. So
// a part that was changed or a value that was read again lapses it; a sentence
// that is worded otherwise does not.
func holds(c *state.Car, answer schema.Entry, then []schema.Amount, f schema.Finding) bool {
	unseen := func(id string) bool { return !c.Sight.Saw(answer.ID, id) }
	worse := func(v schema.Amount) bool {
		i := slices.IndexFunc(then, func(was schema.Amount) bool { return was.Name == v.Name })
		return i < 0 || !noWorse(then[i], v, f.Limits)
	}
	return !slices.ContainsFunc(f.Entries, unseen) && !slices.ContainsFunc(f.Values, worse)
}

// noWorse reports a value that is what it was, within its uncertainty, or lies
// nearer to what its bounds ask for.
func noWorse(was, v schema.Amount, limits []schema.Bound) bool {
	if was.Value == v.Value && was.Unit == v.Unit {
		return true
	}
	x, err1 := strconv.ParseFloat(was.Value, 64)
	y, err2 := strconv.ParseFloat(v.Value, 64)
	if err1 != nil || err2 != nil || was.Unit != v.Unit {
		return false
	}
	u, _ := strconv.ParseFloat(was.U, 64) // none: exactly
	i := slices.IndexFunc(limits, func(b schema.Bound) bool { return b.Name == v.Name && b.Unit == v.Unit })
	return math.Abs(y-x) <= u || i >= 0 && beyond(limits[i], y) <= beyond(limits[i], x)
}

// beyond is how far a value lies outside its bound.
func beyond(b schema.Bound, x float64) float64 {
	over := 0.0
	if most, err := strconv.ParseFloat(b.AtMost, 64); err == nil {
		over = max(over, x-most)
	}
	if least, err := strconv.ParseFloat(b.AtLeast, 64); err == nil {
		over = max(over, least-x)
	}
	return over
}

// WaiverTrouble says why a waiver does not hold: nothing when it does.
func WaiverTrouble(c *state.Car, f schema.Finding, by string, w schema.WaiveData) []string {
	var trouble []string
	say := func(bad bool, text string) {
		if bad {
			trouble = append(trouble, text)
		}
	}
	rule, _ := rules.Find(f.Rule)
	say(!waivable(c, f), f.Rule+" "+f.Severity.String()+" is never waived: "+rule.Mends())
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
