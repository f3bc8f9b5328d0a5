package rules

import (
	"slices"
	"strings"

	"feedproof/schema"
	"feedproof/schema/code"
)

// Say is what a finding means for the car and what to do next. In both, {name}
// stands for the value of that name.
type Say struct{ Means, Next string }

// Words are what a rule's findings mean, by their code. A code and a subject
// together ("missing photo"), or a subject (" photo"), come before the code
// alone, and [otherwise] comes last. What the rule does not say is said by
// [everyRule].
type Words map[code.Code]Say

// otherwise stands for every code that a rule does not name.
const otherwise code.Code = ""

// everyRule is what codes mean whatever the rule.
var everyRule = Words{
	code.Missing:    {"nothing shows it yet", ""},
	code.Incomplete: {"nothing shows it yet", "read it again, with every number"},
	code.Changed:    {"nothing shows it yet", "{changed} changed after it: read it again"},
	code.Coarse:     {"the instrument is too coarse to tell: its uncertainty is {u}", "read again with a finer one"},
	code.Roughly:    {"it is within, by a gauge that is coarse for it: its uncertainty is {u}", "read again with a finer gauge, or say why this one will do"},
	code.Uncomputed: {"it cannot be computed", "complete the plan or the part's data, then check again"},
	code.Uncovered:  {"it lies outside what the data covers", "complete the plan or the part's data, then check again"},

	code.Tardy: {"it may well have been so, and it was not written down in time", "a lead who did not do the work asks, and answers: feedproof acknowledge CAR"},

	code.Inconclusive: {"the log proves nothing: {reason}", "log it again"},
}

// worthlessBy says why a reading proves nothing, and what proves it.
var worthlessBy = Words{
	code.Lapsed:       {"gauge {gauge} was due {due}", inDate},
	code.Uncalibrated: {"gauge {gauge} has no calibration", inDate},
	code.FoundBad:     {"gauge {gauge} was found bad on {found}", inDate},
	code.Unnamed:      {"no gauge is named", "read again, and name the gauge"},
	code.Unrated:      {"the gauge's accuracy is not known", inDate},
	code.Unzeroed:     {"gauge {gauge} read {zero} before, vented: more than its own uncertainty", "mend its zero, or read again with another"},
	code.Unreadable:   {"{reason}", inDate},
	code.Unbumped:     {"meter {gauge} was not bump tested", "bump test it, then read again"},
	code.BumpedBefore: {"meter {gauge} was last bump tested on {bumped}", "bump test it, then read again"},
	code.Starved:      {"{oxygen} oxygen: meter {gauge} reads falsely low below 10 %", "read again with a meter that needs no oxygen"},

	code.Brief:            {"it was shorter than {least}", "do it again for {least} or longer"},
	code.Narrow:           {"the manifold pressures span less than 100 kPa", "read again over 100 kPa or more"},
	code.HoseOn:           {"the reference hose was on", "take the reference hose off, vent it, and read again"},
	code.UnderLoad:        {"it was read under load", "read again at idle"},
	code.Charging:         {"a battery charger was connected", "take the charger off, and read again"},
	code.NoAir:            {"the air temperature was not read at both ends", "do it again, with the air temperature at both ends"},
	code.Unmetered:        {"no gas meter is named", "name the meter, and read again"},
	code.Unread:           {"no reading before it", "read it before the act"},
	code.GasUnread:        {"no gas reading before it", "read it before the act"},
	code.Retested:         {"the last gas reading was before the system was closed and tested", "read it again"},
	code.Late:             {"the last gas reading was {age} before it", "read it just before the act"},
	code.Partial:          {"no reading at {missing}", "read both places"},
	code.Numberless:       {"the reading holds no number", "read it again and write the number"},
	code.Ran:              {"the pump ran after the reading", "read it again"},
	code.EngineRan:        {"the engine ran after the reading", "read it again"},
	code.Vapour:           {"{gas} corrected, in the tank", "air it, and read again"},
	code.Elsewhere:        {"the last gas reading was not in the tank", "read the gas in the tank"},
	code.OxygenUnread:     {"oxygen was not read with it", "read oxygen too"},
	code.Oxygen:           {"{oxygen} oxygen in the tank", "air it, and read again"},
	code.Unpapered:        {"nothing shows that it is new", "invoice and photo first"},
	code.Uncertified:      {"no cleaning certificate before it", "the cleaner's certificate first"},
	code.Anonymous:        {"the certificate does not say who cleaned the tank and how", "the cleaner's certificate first"},
	code.Nameless:         {"the certificate names no tank", "the cleaner's certificate first"},
	code.Untagged:         {"nobody wrote down which tank this is", "tag it"},
	code.OtherTank:        {"the certificate is of {certified}, this is {tank}", "the cleaner's certificate first"},
	code.Undated:          {"the certificate has no time", "the cleaner's certificate first"},
	code.Afterwards:       {"the certificate is later than the cut", "the cleaner's certificate first"},
	code.Old:              {"the certificate is {age} old", "a new certificate first"},
	code.Said:             {"said, and not read", ""},
	code.Alone:            {"one name only", ""},
	code.ReopenedTogether: {"answered {answered}, and {joint} was opened {opened}", ""},
	code.Reopened:         {"answered {answered}, and {joint} was opened {opened}", ""},
	code.Unpressured:      {"it was not at pressure", "hold it at pressure, and time it again"},
}

const inDate = "read again with a gauge that is in date and fine enough"

// doubt is why a reading proves nothing; without a code there is none.
type doubt struct {
	code   code.Code
	values []schema.Amount
}

func doubtful(c code.Code, values ...schema.Amount) doubt { return doubt{c, values} }

func (d doubt) is() bool { return d.code != "" }

// text is the doubt in words; empty for none.
func (d doubt) text() string { return filled(worthlessBy[d.code].Means, d.values) }

// firstOf is the first of some doubts that is one.
func firstOf(doubts ...doubt) doubt {
	for _, d := range doubts {
		if d.is() {
			return d
		}
	}
	return doubt{}
}

// doubted is what is kept of a doubt in a finding.
func doubted(f schema.Finding, d doubt) schema.Finding {
	f.Code = d.code
	f.Values = append(f.Values[:len(f.Values):len(f.Values)], d.values...)
	return f
}

// called is a value that is a word.
func called(name, value string) schema.Amount { return schema.Amount{Name: name, Value: value} }

// worded says what each finding means and what to do next: nothing of one that
// is in order. A finding without a code of its own is within or outside.
func (r Rule) worded(found []schema.Finding) []schema.Finding {
	for i := range found {
		f := &found[i]
		if f.Code == "" && f.Severity != schema.Unproven {
			f.Code = map[bool]code.Code{true: code.Within, false: code.Outside}[f.Severity == schema.OK]
		}
		f.Values = slices.DeleteFunc(f.Values, func(v schema.Amount) bool { return v.Value == "" })
		f.Means, f.Next = "", ""
		if f.Severity > schema.OK {
			say := r.say(*f)
			f.Means, f.Next = filled(say.Means, f.Values), filled(say.Next, f.Values)
		}
	}
	return found
}

func (r Rule) say(f schema.Finding) Say {
	on := code.Code(" " + f.Subject)
	for _, c := range []code.Code{f.Code + on, on, f.Code, otherwise} {
		if say, ok := r.Words[c]; ok {
			return say
		}
	}
	if say, ok := everyRule[f.Code]; ok {
		return say
	}
	say := worthlessBy[f.Code]
	say.Means = "the reading proves nothing: " + say.Means
	return say
}

// filled puts values where their names stand in braces, and where {u} stands the
// first uncertainty.
func filled(text string, values []schema.Amount) string {
	for _, v := range values {
		if v.U != "" {
			text = strings.ReplaceAll(text, "{u}", v.U+" "+v.Unit)
		}
		text = strings.ReplaceAll(text, "{"+v.Name+"}", strings.TrimSpace(v.Value+" "+v.Unit))
	}
	return text
}
