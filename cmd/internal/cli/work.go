package cli

import (
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/guide"

	"github.com/spf13/cobra"
)

func (a *app) workCommand() *cobra.Command {
	var o struct{ bay, paper, photo string }
	c := &cobra.Command{
		Use: "work CAR", Short: "guided: one car, one next thing, the number beside its limits", Args: takes("CAR"),
		Long:    "Work on one car, one thing after the other: what is to be done, the limit beside\nthe box, and what a number means as soon as it is typed. Number keys and Enter\nare enough. Whatever was typed is on the disk before the screen changes, and\ngiving the command again comes back to the same place.\n\nWith --plain, and when input or output is no terminal, it asks line by line.",
		Example: "  feedproof work kestrel\n  feedproof work kestrel --as tech-2 --bay 1\n  feedproof work kestrel --plain\n  feedproof work kestrel --from-paper 12 --photo sheet12.jpg",
		RunE: func(c *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			if o.photo != "" {
				if o.paper == "" {
					return wrong("feedproof attach "+args[0]+" "+o.photo, "--photo: of which sheet? give --from-paper NUMBER too")
				}
				if err := runAttach(c.Context(), s.Desk, s.Screen, folder(s.Dir), attachOptions{car: args[0], files: []string{o.photo}, note: "paper sheet " + o.paper}); err != nil {
					return err
				}
			}
			return s.work(args[0], o.bay, o.paper)
		},
	}
	f := c.Flags()
	f.StringVar(&o.bay, "bay", "", "bay you stand in (default: this machine's)")
	f.StringVar(&o.photo, "photo", "", "photo of that sheet, kept as evidence")
	f.StringVar(&o.paper, "from-paper", "", "number of the paper sheet that is typed in: each entry says so")
	return c
}

func (s *session) work(carName, bay, paper string) error {
	if s.flags.json {
		return wrong("feedproof check CAR --json, feedproof read CAR ... --json", "work: asks a person and prints no JSON")
	}
	v, err := s.Car(carName)
	if err != nil {
		return err
	}
	b, err := s.Bench(v, bay)
	if err != nil {
		return err
	}
	guide, err := guide.New(b, s.Now, paper)
	if err != nil {
		return err
	}
	run := s.Lines
	if s.Interactive(s.In) {
		run = s.Run
	}
	if err := run(s.In, guide); err != nil {
		return err
	}
	return s.sayDraft(b)
}

// sayDraft says what is not in the record yet of the car that was worked on.
func (s *session) sayDraft(b *desk.Bench) error {
	v, err := b.Car()
	if err == nil && len(v.Draft) > 0 {
		s.Say("%s: %s on this machine alone; into the record with: feedproof commit %s", v.Data.Name, desk.Plural(len(v.Draft), "entry"), desk.Quoted(v.Data.Name))
	}
	return err
}
