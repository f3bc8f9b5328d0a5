package sheets

import (
	"fmt"
	"strings"

	"feedproof/checklist"
	"feedproof/schema"
)

// Code is what a sheet carries so that it can be held against the record: the
// start of the digest over the entries it was made from.
func Code(entries []schema.Entry) string { return codeOf(schema.Digest(entries)) }

// A code is so many hexadecimal digits, in groups.
const (
	codeDigits = 16
	codeGroup  = 4
)

func codeOf(digest string) string {
	var groups []string
	for i := 0; i+codeGroup <= codeDigits && i+codeGroup <= len(digest); i += codeGroup {
		groups = append(groups, digest[i:i+codeGroup])
	}
	return strings.Join(groups, "-")
}

// foot is identity and integrity: of what record this is, as it stood when, who
// signed, and what to verify it with.
func (d *Document) foot(a checklist.Assessment, o Origin) {
	c := a.Car
	entries := c.Written()
	lines := []string{
		d.say("sheet.foot.record", c.Record.ID, len(entries), o.Draft, "`"+schema.Digest(entries)+"`"),
		d.say("sheet.foot.rules", checklist.RuleSet, o.Printed.UTC().Format("2006-01-02 15:04 UTC"), plain(first(o.Device, "-"))),
	}
	if signed, ok := a.Standing.Released(); ok {
		st := signed.Data.Statement
		lines = append(lines, d.say("sheet.foot.signed", plain(person(c, st.Person)), st.Role, st.At, st.Entries, "`"+st.Digest+"`", st.RuleSet))
	} else {
		lines = append(lines, "**"+d.say("sheet.foot.unsigned")+"**")
	}
	if o.Head != "" {
		lines = append(lines, d.say("sheet.foot.head", "`"+o.Head+"`", "`"+o.Key+"`"))
	}
	lines = append(lines, "**"+d.say("sheet.foot.code", "`"+Code(entries)+"`", "`"+fmt.Sprintf("feedproof verify %s --code %s", quoted(c.Vehicle.Name), Code(entries))+"`")+"**", d.say("sheet.defer"))
	d.apart("foot", strings.Join(lines, "\n\n")+"\n\n")
}

func first(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// quoted puts quotes around a name that a shell would split.
func quoted(name string) string {
	if strings.ContainsAny(name, " '\"$`\\") {
		return "'" + strings.Map(func(r rune) rune {
			if r == '\'' || r == '`' {
				return '?'
			}
			return r
		}, name) + "'"
	}
	return name
}
