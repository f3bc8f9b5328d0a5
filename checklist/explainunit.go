package checklist

import (
	"fmt"
	"slices"
	"strings"

	"feedproof/schema/quantity"
)

// unitID is the id of a unit's page: its symbol, or "unit K" where that is the
// id of another page.
func unitID(symbol string, taken func(string) bool) string {
	if taken(symbol) {
		return "unit " + symbol
	}
	return symbol
}

// unitPages lists the pages of units, beside those there are.
func unitPages(pages []Page) []Page {
	taken := func(id string) bool {
		return slices.ContainsFunc(pages, func(p Page) bool { return strings.EqualFold(p.ID, id) })
	}
	var out []Page
	for _, u := range quantity.Units() {
		out = append(out, Page{unitID(u.Symbol, taken), unitTitle(u), "unit"})
	}
	return out
}

func unitTitle(u quantity.Unit) string {
	names := make([]string, len(u.Dimensions))
	for i, d := range u.Dimensions {
		names[i] = string(d)
	}
	return strings.Join(names, ", ")
}

// explainUnit is the page of a unit: what is written in it, how it may be
// typed, what it is in SI.
func explainUnit(id string) (string, bool) {
	symbol := strings.TrimPrefix(id, "unit ")
	i := slices.IndexFunc(quantity.Units(), func(u quantity.Unit) bool { return u.Symbol == symbol })
	if i < 0 {
		return "", false
	}
	u := quantity.Units()[i]
	var b strings.Builder
	fmt.Fprintf(&b, "# Unit: %s\n\n%s\n\n", u.Symbol, unitTitle(u))
	if len(u.Also) > 0 {
		fmt.Fprintf(&b, "- Also typed: %s\n", strings.Join(u.Also, ", "))
	}
	fmt.Fprintf(&b, "- 1 %s is %.9g %s", u.Symbol, u.Factor, u.SI)
	if u.Offset != 0 {
		fmt.Fprintf(&b, ", and 0 %s is %.9g %s", u.Symbol, u.Offset, u.SI)
	}
	b.WriteString("\n")
	if slices.Contains(u.Dimensions, quantity.Absolute(0).Dimension()) {
		fmt.Fprintf(&b, "- A manifold pressure says what it is measured from: 1.2 %s gauge, 0.5 %s vacuum, 220 %s abs. A rail pressure without a word is gauge.\n", u.Symbol, u.Symbol, u.Symbol)
	}
	b.WriteString("- Case matters: mohm is not Mohm. A number without a unit is refused; a unit is never guessed.\n" +
		"- Where it comes from: exact by definition or NIST SP 811 (2008), appendix B.8\n")
	return b.String(), true
}
