package cli

import (
	"context"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/guide"
	"feedproof/cmd/internal/terminal"

	"github.com/spf13/cobra"
)

// workOptions are a car, where one stands with it, and the paper sheet that is
// typed in, if one is.
type workOptions struct{ car, bay, paper, photo string }

func newWorkCommand(run func(context.Context, workOptions) error) *cobra.Command {
	var o workOptions
	c := &cobra.Command{
		Use: "work CAR", Short: "guided: one car, one next thing, the number beside its limits", Args: asUsed,
		Long:    "Work on one car, one thing after the other: what is to be done, the limit beside\nthe box, and what a number means as soon as it is typed. Number keys and Enter\nare enough. Whatever was typed is on the disk before the screen changes, and\ngiving the command again comes back to the same place.\n\nWith --plain, and when input or output is no terminal, it asks line by line.",
		Example: "  feedproof work kestrel\n  feedproof work kestrel --as tech-2 --bay 1\n  feedproof work kestrel --plain\n  feedproof work kestrel --from-paper 12 --photo sheet12.jpg",
		RunE: func(c *cobra.Command, args []string) error {
			o.car = args[0]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.bay, "bay", "", "bay you stand in (default: this machine's)")
	f.StringVar(&o.photo, "photo", "", "photo of that sheet, kept as evidence")
	f.StringVar(&o.paper, "from-paper", "", "number of the paper sheet that is typed in: each entry says so")
	return c
}

func runWork(ctx context.Context, d *desk.Desk, out *terminal.Screen, world outside, o workOptions) error {
	if o.photo != "" {
		if o.paper == "" {
			return wrong("feedproof attach "+o.car+" "+o.photo, "--photo: of which sheet? give --from-paper NUMBER too")
		}
		if err := runAttach(ctx, d, out, world.folder, attachOptions{car: o.car, files: []string{o.photo}, note: "paper sheet " + o.paper}); err != nil {
			return err
		}
	}
	if out.AsJSON() {
		return wrong("feedproof check CAR --json, feedproof read CAR ... --json", "work: asks a person and prints no JSON")
	}
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	b, err := d.Bench(c, o.bay)
	if err != nil {
		return err
	}
	steps, err := guide.New(b, d.Now, o.paper)
	if err != nil {
		return err
	}
	show := out.Lines
	if out.Interactive(world.typed) {
		show = out.Run
	}
	if err := show(world.typed, steps); err != nil {
		return err
	}
	return sayDraft(out, b)
}

// sayDraft says what is not in the record yet of the car that was worked on.
func sayDraft(out *terminal.Screen, b *desk.Bench) error {
	c, err := b.Car()
	if err == nil && len(c.Draft) > 0 {
		out.Say("%s: %s on this machine alone; into the record with: feedproof commit %s", c.Data.Name, desk.Plural(len(c.Draft), "entry"), desk.Quoted(c.Data.Name))
	}
	return err
}
