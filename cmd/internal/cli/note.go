package cli

import (
	"strings"

	"feedproof/schema"

	"github.com/spf13/cobra"
)

func (a *app) noteCommand() *cobra.Command {
	var at string
	c := &cobra.Command{
		Use: "note CAR TEXT ...", Short: "write a note beside the facts", Args: takesAtLeast("CAR", "TEXT"),
		RunE: func(_ *cobra.Command, args []string) error {
			s, v, err := a.openCar(args[0])
			if err != nil {
				return err
			}
			when, err := moment(s.Now(), at)
			if err != nil {
				return err
			}
			return s.record(v, when, schema.NoteData{Text: strings.Join(args[1:], " ")})
		},
	}
	c.Flags().StringVar(&at, "at", "", "when")
	return c
}
