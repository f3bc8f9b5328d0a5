package cli

import (
	"errors"
	"fmt"

	"feedproof/records"

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
	report, err := s.shop.Tidy(s.asking.Context(), s.Progress("tidying object"))
	if err != nil {
		return err
	}
	if s.flags.json {
		return s.JSON(report)
	}
	s.Say("tidied: %s packed, %s now; %s before, %s after", plural(report.Packed, "object"), plural(report.Packs, "pack"), megabytes(report.Before), megabytes(report.After))
	return nil
}

// tidyWhenDue tidies after a commit when it is time. The commit is done whatever comes of it.
func (s *session) tidyWhenDue() {
	if !s.shop.Untidy() {
		return
	}
	_, err := s.shop.Tidy(s.asking.Context(), s.Progress("tidying object"))
	if err != nil && !errors.Is(err, records.ErrBusy) {
		s.Warn("the commit is safe; tidying afterwards failed: %v: run feedproof shop tidy", err)
	}
}

// megabytes is a size with its unit.
func megabytes(n int64) string { return fmt.Sprintf("%.1f MB", float64(n)/1e6) }
