package cli

import (
	"feedproof/cmd/internal/sheet"

	"github.com/spf13/cobra"
)

func (a *app) sheetCommand() *cobra.Command {
	return &cobra.Command{
		Use: "sheet CAR", Short: "the hand-over sheet: drawn on a terminal, Markdown in a pipe", Args: takes("CAR"),
		Example: "  feedproof sheet kestrel\n  feedproof sheet kestrel > kestrel.md",
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			v, err := s.car(args[0])
			if err != nil {
				return err
			}
			as, err := s.assess(v)
			if err != nil {
				return err
			}
			if s.flags.json {
				return s.JSON(checkOf(v, as))
			}
			return s.Markdown(sheet.HandOver(as))
		},
	}
}
