package cli

import (
	"context"
	"os"
	"path/filepath"
	"strings"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/language"
	"feedproof/cmd/internal/sheets"
	"feedproof/cmd/internal/terminal"

	"github.com/spf13/cobra"
)

// sheetOptions are a sheet of a car: whose, in which form and where to.
type sheetOptions struct {
	car                                  string
	reader, out, units, language, number string
	paper, pull                          bool
}

func newSheetCommand(run func(context.Context, sheetOptions) error) *cobra.Command {
	var o sheetOptions
	c := &cobra.Command{
		Use: "sheet CAR", Short: "sheets for the customer, the lead, the auditor and the windscreen", Args: asUsed,
		Long:    "Make a sheet of a car: drawn on a terminal, Markdown in a pipe, or a file with\n--out: .html is one file with its charts, without scripts and without anything\nfrom elsewhere, for one or two printed pages; .md is Markdown.\n\nThe foot says which record it was made from, and the code to verify it with.\n--paper is the job sheet: the next boxes with their limits, to be filled in by\nhand and typed in later with feedproof work CAR --from-paper NUMBER.",
		Example: "  feedproof sheet kestrel\n  feedproof sheet kestrel --for lead\n  feedproof sheet kestrel --out kestrel.html --units us\n  feedproof sheet kestrel --paper --out job.html",
		RunE: func(c *cobra.Command, args []string) error {
			o.car = args[0]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.reader, "for", "customer", "whom it is for: customer, lead, auditor")
	f.BoolVar(&o.paper, "paper", false, "the job sheet for the windscreen instead")
	f.BoolVar(&o.pull, "pull", false, "draw the worst pull of the visit's last log too; it may take a page more")
	f.StringVar(&o.number, "number", "", "number of the job sheet (default: day and time)")
	f.StringVar(&o.out, "out", "", "file to write: .html or .md")
	f.StringVar(&o.units, "units", "", "system of units that comes first: metric, us (default: the person's)")
	f.StringVar(&o.language, "language", "", "language of the headings (default: the person's)")
	either(c, "for", "paper")
	return c
}

func runSheet(_ context.Context, d *desk.Desk, out *terminal.Screen, in folder, o sheetOptions) error {
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	a, err := d.Assess(c)
	if err != nil {
		return err
	}
	if out.AsJSON() {
		return out.JSON(checkOf(c, a))
	}
	style, err := styleOf(d, o)
	if err != nil {
		return err
	}
	style.Origin = originOf(d, c)
	doc, err := documentOf(d, out, a, o, style)
	if err != nil {
		return err
	}
	if o.out == "" {
		return out.Markdown(doc.Markdown())
	}
	return writeSheet(out, in, doc, o.out)
}

// styleOf is how a sheet is written: as asked for, else as the person is used to.
func styleOf(d *desk.Desk, o sheetOptions) (sheets.Style, error) {
	habits := desk.Habits{}
	if me, err := d.Who(); err == nil {
		habits = d.Habits(me.Person)
	}
	units, lang := firstOf(o.units, habits.System), firstOf(o.language, habits.Language, language.Default)
	if units != "" {
		var err error
		if units, err = oneOf(units, []string{sheets.Metric, sheets.US}); err != nil {
			return sheets.Style{}, wrong("--units us", "--units: %v", err)
		}
	}
	code, err := oneOf(lang, language.Codes())
	if err != nil {
		return sheets.Style{}, wrong("--language en", "--language: %v", err)
	}
	return sheets.Style{System: units, Language: code}, nil
}

func firstOf(texts ...string) string {
	for _, t := range texts {
		if t != "" {
			return t
		}
	}
	return ""
}

// originOf is where the sheet comes from.
func originOf(d *desk.Desk, c desk.Car) sheets.Origin {
	device := d.Device()
	o := sheets.Origin{Printed: d.Now(), Device: device.Name, Draft: len(c.Draft), Key: device.Pinned}
	if view, err := d.View(); err == nil {
		o.Head = view.Commit()
	}
	return o
}

func documentOf(d *desk.Desk, out *terminal.Screen, a checklist.Assessment, o sheetOptions, style sheets.Style) (*sheets.Document, error) {
	if o.paper {
		return sheets.Job(a, firstOf(o.number, d.Now().Format("0102-1504")), style), nil
	}
	reader, err := oneOf(o.reader, []string{"customer", "lead", "auditor"})
	if err != nil {
		return nil, wrong("--for lead", "--for: %v", err)
	}
	if o.pull {
		style.Pull = pullChart(d, out, a.Car)
	}
	write := map[string]func(checklist.Assessment, sheets.Style) *sheets.Document{"customer": sheets.Customer, "lead": sheets.Lead, "auditor": sheets.Auditor}[reader]
	return write(a, style), nil
}

func writeSheet(out *terminal.Screen, in folder, doc *sheets.Document, file string) error {
	text := []byte(doc.Markdown())
	switch strings.ToLower(filepath.Ext(file)) {
	case ".md":
	case ".html", ".htm":
		var err error
		if text, err = doc.HTML(); err != nil {
			return err
		}
	default:
		return wrong("--out "+strings.TrimSuffix(file, filepath.Ext(file))+".html", "--out %s: neither .html nor .md", file)
	}
	if err := os.WriteFile(in.path(file), text, 0o644); err != nil {
		return err
	}
	out.Say("%s: written to %s", doc.Title, file)
	return nil
}
