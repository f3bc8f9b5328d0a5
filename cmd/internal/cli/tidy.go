package cli

import (
	"context"
	"fmt"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"

	"github.com/spf13/cobra"
)

func newShopTidyCommand(run func(context.Context, noOptions) error) *cobra.Command {
	return &cobra.Command{
		Use: "tidy", Short: "pack what many small commits left in many small files", Args: asUsed,
		Long:    "Pack the files that many commits leave, so that the shop stays small and quick\nto open. Nothing is dropped. Others may go on working, and it may be cut off at\nany moment. A commit does it by itself when it is time.",
		Example: "  feedproof shop tidy",
		RunE:    func(c *cobra.Command, _ []string) error { return run(c.Context(), noOptions{}) },
	}
}

func runShopTidy(ctx context.Context, d *desk.Desk, out *terminal.Screen, _ noOptions) error {
	report, err := d.Store().Tidy(ctx, out.Progress("tidying object"))
	if err != nil {
		return err
	}
	if out.AsJSON() {
		return out.JSON(report)
	}
	out.Say("tidied: %s packed, %s now; %s before, %s after", desk.Plural(report.Packed, "object"), desk.Plural(report.Packs, "pack"), megabytes(report.Before), megabytes(report.After))
	return nil
}

// megabytes is a size with its unit.
func megabytes(n int64) string { return fmt.Sprintf("%.1f MB", float64(n)/1e6) }
