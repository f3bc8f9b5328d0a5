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

// offer lists what an argument can be, for the shell: each word with what it
// is, after a tab.
type offer func(*desk.Desk) ([]string, error)

// shopOffers are arguments, by their name in the line of use or of their flag,
// that the shop knows.
var shopOffers = map[string]offer{
	"CAR": offerCars, "PERSON": offerPeople, "GAUGE": offerGauges, "PART": offerParts, "BAY": offerBays,
	"--as": offerPeople, "--second": offerPeople, "--person": offerPeople, "--gauge": offerGauges, "--tool": offerGauges, "--pump": offerParts,
	"--injectors": offerParts, "--bay": offerBays,
}

// bookOffers are those that the program itself knows.
var bookOffers = map[string]func() []string{
	"STEP": offerSteps, "TEST": offerTests, "CAUTION": offerCautions, "POINT": offerPoints, "QUESTION": offerQuestions, "ID": offerPages,
	"--step": offerSteps, "--for": func() []string { return []string{"customer", "lead", "auditor"} },
	"--units": func() []string { return []string{sheets.Metric, sheets.US} }, "--language": language.Codes,
}

// owners say what ID is in the commands below them.
var owners = map[string]string{"gauge": "GAUGE", "part": "PART", "person": "PERSON"}

// complete teaches the shell what the arguments and flags of each command can
// be.
func (a *app) complete(c *cobra.Command) {
	if c.Runnable() && c.ValidArgsFunction == nil {
		c.ValidArgsFunction = func(c *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
			return a.offered(argumentOf(c, len(args)), typed)
		}
	}
	for flag := range flagsOffered() {
		name := strings.TrimPrefix(flag, "--")
		if c.LocalFlags().Lookup(name) == nil {
			continue
		}
		_ = c.RegisterFlagCompletionFunc(name, func(_ *cobra.Command, _ []string, typed string) ([]string, cobra.ShellCompDirective) {
			return a.offered(flag, typed)
		})
	}
	for _, sub := range c.Commands() {
		a.complete(sub)
	}
}

func flagsOffered() map[string]bool {
	out := map[string]bool{}
	for name := range shopOffers {
		out[name] = strings.HasPrefix(name, "--")
	}
	for name := range bookOffers {
		out[name] = strings.HasPrefix(name, "--")
	}
	for name, flag := range out {
		if !flag {
			delete(out, name)
		}
	}
	return out
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

// offered is what an argument can be, of what begins as typed. Without a shop
// there is nothing to say.
func (a *app) offered(name, typed string) ([]string, cobra.ShellCompDirective) {
	if name == "FILE" || name == "DIR" || name == "REMOTE" {
		return nil, cobra.ShellCompDirectiveDefault
	}
	var all []string
	if of, ok := bookOffers[name]; ok {
		all = of()
	}
	if of, ok := shopOffers[name]; ok {
		a.look()
		d, err := a.openDesk()
		if err == nil {
			all, err = of(d)
		}
		if err != nil {
			return nil, cobra.ShellCompDirectiveNoFileComp
		}
	}
	begins := func(o string) bool { return strings.HasPrefix(strings.ToLower(o), strings.ToLower(typed)) }
	return slices.DeleteFunc(all, func(o string) bool { return !begins(o) }), cobra.ShellCompDirectiveNoFileComp
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
