package cli

import (
	"strings"

	"feedproof/checklist"
	"feedproof/checklist/audit"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/language"

	"github.com/spf13/cobra"
)

func (a *app) explainCommand() *cobra.Command {
	var lint bool
	c := &cobra.Command{
		Use: "explain [ID]", Short: "the page behind a finding, caution, step, point or reading", Args: cobra.ArbitraryArgs,
		Example: "  feedproof explain L06\n  feedproof explain K01\n  feedproof explain leak-down\n  feedproof explain emergency",
		RunE: func(_ *cobra.Command, args []string) error {
			if lint {
				return a.lint()
			}
			return a.explain(strings.Join(args, " "))
		},
	}
	c.Flags().BoolVar(&lint, "lint", false, "prove that the shipped procedures, cautions, points and faults fit together and name only rules that there are")
	return c
}

// lint says what is wrong with the shipped checklists.
func (a *app) lint() error {
	faults, err := checklist.Lint()
	if err != nil {
		return err
	}
	for _, f := range faults {
		a.Say("%s", f)
	}
	if len(faults) > 0 {
		return failed("mend the files of checklist/procedures/data", "checklists: %s", desk.Plural(len(faults), "fault"))
	}
	a.Say("checklists: every id exists, every condition names a known field, every hold point can be reached, every caution has its proof and its waiver rule")
	return nil
}

func (a *app) explain(id string) error {
	pages := pages()
	if id == "" {
		return a.listPages(pages)
	}
	if q, is := audit.Find(id); is {
		id = q.ID
	}
	i, err := desk.PickExact("page", id, pages, func(p checklist.Page) string { return p.ID })
	if err != nil {
		return err
	}
	text, ok := checklist.Explain(pages[i].ID)
	if q, is := audit.Find(pages[i].ID); !ok && is {
		text = q.Page()
	}
	if pages[i].ID == emergency {
		text = language.In(language.Default).Say("card")
	}
	if a.flags.json {
		return a.JSON(struct {
			checklist.Page
			Text string `json:"text"`
		}{pages[i], text})
	}
	return a.Markdown(text)
}

// emergency is the page that the guided screen has one key away.
const emergency = "emergency"

// pages are the emergency card, those of the checklist and those of the
// auditor's questions.
func pages() []checklist.Page {
	all := append([]checklist.Page{{ID: emergency, Title: "what to do: fire, spill, burn, eye, jet of fuel", Kind: "card"}}, checklist.Pages()...)
	for _, q := range audit.All() {
		all = append(all, checklist.Page{ID: q.ID, Title: q.Title, Kind: "question"})
	}
	return all
}

func (a *app) listPages(pages []checklist.Page) error {
	if a.flags.json {
		return a.JSON(pages)
	}
	var rows [][]string
	for _, p := range pages {
		rows = append(rows, []string{p.Kind, p.ID, p.Title})
	}
	a.Table([]string{"KIND", "ID", "WHAT"}, rows)
	return nil
}
