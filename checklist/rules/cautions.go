package rules

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"feedproof/checklist/procedures"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

// Cautions judges the cautions that no rule of their own judges: each that
// applies must be answered by what its data asks for. It is registered like a
// rule; its findings carry the caution's id.
var _ = register(Rule{
	ID: "K", Title: "cautions answered",
	What: "Every caution that applies to the job is answered: met, with what shows it, or not applicable, with the reason. A bare word such as done never counts. " +
		"What an instrument shows is read: words do not do. What holds for a shift is answered again when a joint is opened more than 12 h later, and a first start after each opening.",
	Limits: "answered since the visit opened",
	Source: "common practice, the 12 h shop policy; each caution's own page says more",
	Means:  "Nobody has said that the hazard was dealt with.",
	Next:   "feedproof caution CAR K02 --proof \"...\", or --na \"why\"",
	Words: Words{
		code.Missing:          {undealt, answerCaution},
		code.Reopened:         {undealt, answerCaution},
		code.Unwitnessed:      {undealt, answerCaution + " --person NAME"},
		code.Alone:            {undealt, answerCaution + " --person NAME"},
		code.ReopenedTogether: {undealt, answerCaution + " --person NAME"},
		code.Unmeasured:       {"nobody has measured it", readCaution},
		code.Said:             {"nobody has measured it", readCaution},
	},
	Judge: inVisit(judgeCautions),
})

const (
	undealt       = "nobody has said that it was dealt with"
	answerCaution = `feedproof caution CAR {caution} --proof "..."`
	readCaution   = `feedproof read CAR {reading} ..., or why it is not here: feedproof caution CAR {caution} --na "..."`
)

func judgeCautions(c *state.Car) []schema.Finding {
	var found []schema.Finding
	for _, k := range c.Book.Cautions {
		if judgedElsewhere(k) || !c.Applies(k.When) {
			continue
		}
		why := cautionOpen(c, k)
		if !why.is() || judgedAlready(c, k) {
			continue
		}
		found = append(found, schema.Finding{
			Rule: k.ID, Subject: k.ID, Severity: schema.Unproven, Code: why.code, About: k.Hazard, Measured: cmp.Or(why.text(), NotYet), Limit: k.Proof,
			Values: append([]schema.Amount{called("caution", k.ID), called("reading", quoted(k.Needs.Test))}, why.values...),
		})
	}
	return found
}

// judgedElsewhere reports a caution whose own rule also says when its proof is
// missing. A rule of another id, which judges the reading, says nothing without
// one.
func judgedElsewhere(k procedures.Caution) bool { return k.Needs.Rule == k.ID }

// judgedAlready reports that the rule that judges the reading asks for it, or
// found it elsewhere, as in a log.
func judgedAlready(c *state.Car, k procedures.Caution) bool {
	rule, ok := Find(k.Needs.Rule)
	return ok && len(rule.Judge(c)) > 0
}

func cautionAnswered(c *state.Car, k procedures.Caution) bool { return !cautionOpen(c, k).is() }

// shift is how long the answer to a caution holds that is given for a shift.
// Source: shop policy.
const shift = 12 * time.Hour

// cautionOpen says why a caution that applies is not answered.
func cautionOpen(c *state.Car, k procedures.Caution) doubt {
	if hasReading(c, k.Needs.Test) {
		return doubt{}
	}
	answer, _ := lastCaution(c, k.ID)
	if !answersCaution(answer.Data) {
		return doubtful(unanswered(k))
	}
	switch people := len(answer.Data.Persons); {
	case answer.Data.State == schema.CautionNA:
		return doubt{}
	case k.Needs.Level == 1:
		return doubtful(code.Said)
	case people < k.Needs.Persons && (people+1 < k.Needs.Persons || slices.Contains(answer.Data.Persons, answer.Entry.By)):
		return doubtful(code.Alone)
	}
	return answeredTooEarly(c, k, answer)
}

func unanswered(k procedures.Caution) code.Code {
	switch {
	case k.Needs.Level == 1:
		return code.Unmeasured
	case k.Needs.Persons > 1:
		return code.Unwitnessed
	}
	return code.Missing
}

// answeredTooEarly says that a joint was opened for which an answer does not
// hold any longer.
func answeredTooEarly(c *state.Car, k procedures.Caution, answer state.Caution) doubt {
	o, opened := c.OpenedAfter(answer.Entry)
	if !opened || k.Again == procedures.AgainNever || k.Again == procedures.AgainShift && o.Entry.At.Sub(answer.Entry.At) <= shift {
		return doubt{}
	}
	why := code.Reopened
	if k.Needs.Persons > 1 {
		why = code.ReopenedTogether
	}
	return doubtful(why, called("answered", answer.Entry.At.Format(time.DateOnly+" 15:04")), called("joint", o.Joint), called("opened", o.Entry.At.Format(time.DateOnly+" 15:04")))
}

// lastCaution is the last answer to a caution in this visit.
func lastCaution(c *state.Car, id string) (state.Caution, bool) {
	return last(answersTo(c, id))
}

// answersTo are the answers to a caution in this visit.
func answersTo(c *state.Car, id string) []state.Caution {
	var out []state.Caution
	for _, k := range c.Cautions {
		if k.Data.Caution == id && c.InVisit(k.Entry) {
			out = append(out, k)
		}
	}
	return out
}

// answersBefore are those that stand before an opening.
func answersBefore(c *state.Car, id string, o state.Opening) []state.Caution {
	return slices.DeleteFunc(answersTo(c, id), func(k state.Caution) bool { return schema.Order(k.Entry, o.Entry) > 0 })
}

func answersCaution(d schema.CautionData) bool {
	switch d.State {
	case schema.CautionMet:
		return says(d.Proof) || len(d.Evidence) > 0 || len(d.Readings) > 0
	case schema.CautionNA:
		return reason(d.Why)
	}
	return false
}

// says reports that a text says more than that something was done.
func says(text string) bool {
	return !slices.Contains([]string{"", "ok", "done", "yes", "y", "x"}, word(text))
}

// word is a text of one word without what stands around it.
func word(text string) string { return strings.ToLower(strings.Trim(text, " .!")) }
