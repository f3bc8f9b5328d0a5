package cli

import (
	"context"
	"strings"

	"feedproof/checklist"
	"feedproof/checklist/audit"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/language"
	"feedproof/cmd/internal/terminal"

	"github.com/spf13/cobra"
)

// explainOptions are which page; without one they are listed.
type explainOptions struct {
	id   string
	lint bool // prove the shipped checklists instead
}

func newExplainCommand(run func(context.Context, explainOptions) error) *cobra.Command {
	var o explainOptions
	c := &cobra.Command{
		Use: "explain [ID ...]", Short: "the page behind a finding, caution, step, point or reading", Args: asUsed,
		Example: "  feedproof explain L06\n  feedproof explain K01\n  feedproof explain leak-down\n  feedproof explain emergency",
		RunE: func(c *cobra.Command, args []string) error {
			o.id = strings.Join(args, " ")
			return run(c.Context(), o)
		},
	}
	c.Flags().BoolVar(&o.lint, "lint", false, "prove that the shipped procedures, cautions, points and faults fit together and name only rules that there are")
	return c
}

// lint says what is wrong with the shipped checklists.
func lint(out *terminal.Screen) error {
	faults, err := checklist.Lint()
	if err != nil {
		return err
	}
	for _, f := range faults {
		out.Say("%s", f)
	}
	if len(faults) > 0 {
		return failed("mend the files of checklist/procedures/data", "checklists: %s", desk.Plural(len(faults), "fault"))
	}
	out.Say("checklists: every id exists, every condition names a known field, every hold point can be reached, every caution has its proof and its waiver rule")
	return nil
}

// explainJSON is a page with its text, as --json prints it.
type explainJSON struct {
	checklist.Page
	Text string `json:"text"`
}

func runExplain(_ context.Context, _ outside, out *terminal.Screen, o explainOptions) error {
	id := o.id
	if o.lint {
		return lint(out)
	}
	pages := pages()
	if id == "" {
		return listPages(out, pages)
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
	if out.AsJSON() {
		return out.JSON(explainJSON{pages[i], text})
	}
	return out.Markdown(text)
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

func listPages(out *terminal.Screen, pages []checklist.Page) error {
	if out.AsJSON() {
		return out.JSON(pages)
	}
	var rows [][]string
	for _, p := range pages {
		rows = append(rows, []string{p.Kind, p.ID, p.Title})
	}
	out.Table([]string{"KIND", "ID", "WHAT"}, rows)
	return nil
}
