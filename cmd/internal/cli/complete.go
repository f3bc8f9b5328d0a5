package cli

import (
	"slices"
	"strings"

	"feedproof/checklist/audit"
	"feedproof/checklist/procedures"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/language"
	"feedproof/cmd/internal/sheets"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// offer lists what an argument or the value of a flag can be, for the shell:
// each word with what it is, after a tab. It opens the shop if it needs one.
type offer func(open func() (*desk.Desk, error)) ([]string, error)

// shopOffer is one that the shop knows.
func shopOffer(list func(*desk.Desk) ([]string, error)) offer {
	return func(open func() (*desk.Desk, error)) ([]string, error) {
		d, err := open()
		if err != nil {
			return nil, err
		}
		return list(d)
	}
}

// bookOffer is one that the program itself knows.
func bookOffer(list func() []string) offer {
	return func(func() (*desk.Desk, error)) ([]string, error) { return list(), nil }
}

var (
	people = shopOffer(offerPeople)
	gauges = shopOffer(offerGauges)
	parts  = shopOffer(offerParts)
	bays   = shopOffer(offerBays)
	steps  = bookOffer(offerSteps)
)

// arguments are what is offered for one, by its name in the line of use.
var arguments = map[string]offer{
	"CAR": shopOffer(offerCars), "PERSON": people, "GAUGE": gauges, "PART": parts, "BAY": bays,
	"STEP": steps, "TEST": bookOffer(offerTests), "CAUTION": bookOffer(offerCautions), "POINT": bookOffer(offerPoints),
	"QUESTION": bookOffer(offerQuestions), "ID": bookOffer(offerPages),
}

// flagValues are what is offered for the value of a flag.
var flagValues = map[string]offer{
	"as": people, "second": people, "person": people, "gauge": gauges, "tool": gauges, "pump": parts, "injectors": parts, "bay": bays, "step": steps,
	"for":      bookOffer(func() []string { return []string{"customer", "lead", "auditor"} }),
	"units":    bookOffer(func() []string { return []string{sheets.Metric, sheets.US} }),
	"language": bookOffer(language.Codes),
}

// owners say what ID is in the commands below them.
var owners = map[string]string{"gauge": "GAUGE", "part": "PART", "person": "PERSON"}

// complete teaches the shell what the arguments and flags of each command can
// be.
func complete(c *cobra.Command, open func() (*desk.Desk, error)) {
	if c.Runnable() && c.ValidArgsFunction == nil {
		c.ValidArgsFunction = func(c *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
			name := argumentOf(c, len(args))
			if name == "FILE" || name == "DIR" || name == "REMOTE" {
				return nil, cobra.ShellCompDirectiveDefault
			}
			return beginning(typed, arguments[name], open), cobra.ShellCompDirectiveNoFileComp
		}
	}
	for flag, of := range flagValues {
		if c.LocalFlags().Lookup(flag) == nil {
			continue
		}
		_ = c.RegisterFlagCompletionFunc(flag, func(_ *cobra.Command, _ []string, typed string) ([]string, cobra.ShellCompDirective) {
			return beginning(typed, of, open), cobra.ShellCompDirectiveNoFileComp
		})
	}
	for _, sub := range c.Commands() {
		complete(sub, open)
	}
}

// argumentOf is the name of the nth argument in the command's line of use. The
// last one goes on where the line ends in dots.
func argumentOf(c *cobra.Command, n int) string {
	words := strings.Fields(c.Use)[1:]
	if last := len(words) - 1; last >= 0 && strings.HasPrefix(words[last], "...") {
		words = words[:last]
		n = min(n, last-1)
	}
	if n < 0 || n >= len(words) {
		return ""
	}
	name := strings.Trim(words[n], "[]")
	if owner, ok := owners[c.Parent().Name()]; ok && name == "ID" {
		return owner
	}
	return name
}

// beginning is what is offered, if anything, and begins as typed. Without a shop
// there is nothing to say.
func beginning(typed string, of offer, open func() (*desk.Desk, error)) []string {
	if of == nil {
		return nil
	}
	all, err := of(open)
	if err != nil {
		return nil
	}
	begins := func(o string) bool { return strings.HasPrefix(strings.ToLower(o), strings.ToLower(typed)) }
	return slices.DeleteFunc(all, func(o string) bool { return !begins(o) })
}

func said(word, what string) string { return word + "\t" + oneLine(what) }

func offerCars(d *desk.Desk) ([]string, error) {
	names, err := d.Names()
	var out []string
	for _, n := range names {
		out = append(out, said(n.Name, n.Plate))
	}
	return out, err
}

func offerPeople(d *desk.Desk) ([]string, error) {
	roster, err := d.Roster()
	if err != nil {
		return nil, err
	}
	var out []string
	for _, m := range roster.Members() {
		if m.Active() {
			out = append(out, said(m.Person, m.Name))
		}
	}
	return out, nil
}

func offerGauges(d *desk.Desk) ([]string, error) {
	all, err := d.Gauges()
	var out []string
	for _, g := range all {
		out = append(out, said(g.ID, g.Data.Name))
	}
	return out, err
}

func offerParts(d *desk.Desk) ([]string, error) {
	view, err := d.View()
	if err != nil {
		return nil, err
	}
	return view.IDs(schema.PartRecord)
}

func offerBays(d *desk.Desk) ([]string, error) {
	bays, err := d.Bays()
	var out []string
	for _, b := range bays {
		out = append(out, b.Bay)
	}
	return out, err
}

func offerSteps() []string {
	book, _ := procedures.Load()
	var out []string
	for _, p := range book.All() {
		out = append(out, said(p.ID, cut(p.Text, shownWords)))
	}
	return out
}

func offerTests() []string {
	var out []string
	for _, t := range schema.Readings {
		out = append(out, said(t.Name, t.Title))
	}
	return out
}

func offerCautions() []string {
	book, _ := procedures.Load()
	var out []string
	for _, c := range book.Cautions {
		out = append(out, said(c.ID, c.Hazard))
	}
	return out
}

func offerPoints() []string {
	book, _ := procedures.Load()
	var out []string
	for _, p := range book.Points {
		out = append(out, said(p.ID, p.Name))
	}
	return out
}

func offerQuestions() []string {
	var out []string
	for _, q := range audit.All() {
		out = append(out, said(q.Name, q.Title))
	}
	return out
}

func offerPages() []string {
	var out []string
	for _, p := range pages() {
		out = append(out, said(p.ID, cut(p.Title, shownWords)))
	}
	return out
}
