package cli

import (
	"context"
	"strings"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// noteOptions are a note beside the facts.
type noteOptions struct {
	car   string
	words []string
	at    string
}

func newNoteCommand(run func(context.Context, noteOptions) error) *cobra.Command {
	var o noteOptions
	c := &cobra.Command{
		Use: "note CAR TEXT ...", Short: "write a note beside the facts", Args: asUsed,
		Example: `  feedproof note kestrel "owner asked for a second fan"`,
		RunE: func(c *cobra.Command, args []string) error {
			o.car, o.words = args[0], args[1:]
			return run(c.Context(), o)
		},
	}
	c.Flags().StringVar(&o.at, "at", "", "when")
	return c
}

func runNote(_ context.Context, d *desk.Desk, out *terminal.Screen, o noteOptions) error {
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	at, err := moment(d.Now(), o.at)
	if err != nil {
		return err
	}
	return record(d, out, c, at, schema.NoteData{Text: strings.Join(o.words, " ")})
}
