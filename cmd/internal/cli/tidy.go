package cli

import (
	"fmt"

	"feedproof/cmd/internal/desk"
	"github.com/spf13/cobra"
)

func (a *app) shopTidy() *cobra.Command {
	return &cobra.Command{
		Use: "tidy", Short: "pack what many small commits left in many small files", Args: takes(),
		Long: "Pack the files that many commits leave, so that the shop stays small and quick\nto open. Nothing is dropped. Others may go on working, and it may be cut off at\nany moment. A commit does it by itself when it is time.",
		RunE: func(*cobra.Command, []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.tidy()
		},
	}
}

func (s *session) tidy() error {
	report, err := s.Store().Tidy(s.asking.Context(), s.Progress("tidying object"))
	if err != nil {
		return err
	}
	if s.flags.json {
		return s.JSON(report)
	}
	s.Say("tidied: %s packed, %s now; %s before, %s after", desk.Plural(report.Packed, "object"), desk.Plural(report.Packs, "pack"), megabytes(report.Before), megabytes(report.After))
	return nil
}

// megabytes is a size with its unit.
func megabytes(n int64) string { return fmt.Sprintf("%.1f MB", float64(n)/1e6) }
