package rules

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/code"
)

const leastDigits = 20

var _ = register(Rule{
	ID: "X03", Title: "last digits all 0 or 5",
	What:   "Twenty or more values of one person, read in this visit on gauges that show finer steps, whose last digits are all 0 or 5. It is a note for an auditor and says nothing about the person: rounding is a habit.",
	Limits: "a note only",
	Source: "common practice. By chance: one in five to the power of the number of values",
	Means:  "The values were rounded, or not read.",
	Next:   "Read the division as it stands; \"about\" is an honest word in a note.",
	Words:  Words{code.Rounded: {"they were rounded, or not read", "read the division as it stands"}},
	Judge:  inVisit(judgeDigits),
})

func judgeDigits(c *state.Car) []schema.Finding {
	count, round := map[string]int{}, map[string]int{}
	for _, r := range c.Readings {
		for _, v := range r.Data.Values {
			if !c.InVisit(r.Entry) || !finelyRead(v) {
				continue
			}
			by := r.Entry.By
			count[by]++
			if strings.HasSuffix(v.Value, "0") || strings.HasSuffix(v.Value, "5") {
				round[by]++
			}
		}
	}
	var found []schema.Finding
	for _, by := range slices.Sorted(maps.Keys(count)) {
		if n := count[by]; n >= leastDigits && round[by] == n {
			found = append(found, schema.Finding{
				Rule: "X03", Subject: by, Code: code.Rounded, Severity: schema.Note, Values: []schema.Amount{howMany("values", n)}, About: "last digits of " + by, Measured: fmt.Sprintf("%d values, all end in 0 or 5", n),
				Limit: "for an auditor",
			})
		}
	}
	return found
}

// finelyRead reports a value that is not zero and is written to the last digit
// that its gauge shows in single steps.
func finelyRead(v schema.Value) bool {
	if v.Gauge == nil || v.Gauge.Resolution.Unit != v.Unit {
		return false
	}
	x, _ := strconv.ParseFloat(v.Value, 64)
	_, written, _ := strings.Cut(v.Value, ".")
	_, division, _ := strings.Cut(v.Gauge.Resolution.Value, ".")
	single := strings.HasSuffix(v.Gauge.Resolution.Value, "1") || strings.HasSuffix(v.Gauge.Resolution.Value, "2")
	return x != 0 && single && len(written) == len(division)
}
