package cli

import (
	"os"
	"path/filepath"
	"strings"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/language"
	"feedproof/cmd/internal/sheets"

	"github.com/spf13/cobra"
)

type sheetOptions struct {
	reader, out, units, language, number string
	paper, pull                          bool
}

func (a *app) sheetCommand() *cobra.Command {
	var o sheetOptions
	c := &cobra.Command{
		Use: "sheet CAR", Short: "sheets for the customer, the lead, the auditor and the windscreen", Args: takes("CAR"),
		Long:    "Make a sheet of a car: drawn on a terminal, Markdown in a pipe, or a file with\n--out: .html is one file with its charts, without scripts and without anything\nfrom elsewhere, for one or two printed pages; .md is Markdown.\n\nThe foot says which record it was made from, and the code to verify it with.\n--paper is the job sheet: the next boxes with their limits, to be filled in by\nhand and typed in later with feedproof work CAR --from-paper NUMBER.",
		Example: "  feedproof sheet kestrel\n  feedproof sheet kestrel --for lead\n  feedproof sheet kestrel --out kestrel.html --units us\n  feedproof sheet kestrel --paper --out job.html",
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.sheet(args[0], o)
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

func (s *session) sheet(carName string, o sheetOptions) error {
	v, err := s.Car(carName)
	if err != nil {
		return err
	}
	as, err := s.Assess(v)
	if err != nil {
		return err
	}
	if s.flags.json {
		return s.JSON(checkOf(v, as))
	}
	style, err := s.style(o)
	if err != nil {
		return err
	}
	style.Origin = s.origin(v)
	doc, err := s.document(as, o, style)
	if err != nil {
		return err
	}
	if o.out == "" {
		return s.Markdown(doc.Markdown())
	}
	return s.writeSheet(doc, o.out)
}

// style is how a sheet is written: as asked for, else as the person is used to.
func (s *session) style(o sheetOptions) (sheets.Style, error) {
	habits := desk.Habits{}
	if me, err := s.Who(); err == nil {
		habits = s.Habits(me.Person)
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

// origin is where the sheet comes from.
func (s *session) origin(v desk.Car) sheets.Origin {
	d := s.Device()
	o := sheets.Origin{Printed: s.Now(), Device: d.Name, Draft: len(v.Draft), Key: d.Pinned}
	if view, err := s.View(); err == nil {
		o.Head = view.Commit()
	}
	return o
}

func (s *session) document(as checklist.Assessment, o sheetOptions, style sheets.Style) (*sheets.Document, error) {
	if o.paper {
		return sheets.Job(as, firstOf(o.number, s.Now().Format("0102-1504")), style), nil
	}
	reader, err := oneOf(o.reader, []string{"customer", "lead", "auditor"})
	if err != nil {
		return nil, wrong("--for lead", "--for: %v", err)
	}
	if o.pull {
		style.Pull = s.pullChart(as.Car)
	}
	write := map[string]func(checklist.Assessment, sheets.Style) *sheets.Document{"customer": sheets.Customer, "lead": sheets.Lead, "auditor": sheets.Auditor}[reader]
	return write(as, style), nil
}

func (s *session) writeSheet(doc *sheets.Document, out string) error {
	text := []byte(doc.Markdown())
	switch strings.ToLower(filepath.Ext(out)) {
	case ".md":
	case ".html", ".htm":
		var err error
		if text, err = doc.HTML(); err != nil {
			return err
		}
	default:
		return wrong("--out "+strings.TrimSuffix(out, filepath.Ext(out))+".html", "--out %s: neither .html nor .md", out)
	}
	if err := os.WriteFile(s.path(out), text, 0o644); err != nil {
		return err
	}
	s.Say("%s: written to %s", doc.Title, out)
	return nil
}
