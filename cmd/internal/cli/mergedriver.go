package cli

import (
	"context"
	"os"

	"feedproof/cmd/internal/terminal"
	"feedproof/records"

	"github.com/spf13/cobra"
)

// mergeDriverOptions are the files of two states of a record and of what they
// come from.
type mergeDriverOptions struct{ base, ours, theirs string }

func newMergeDriverCommand(run func(context.Context, mergeDriverOptions) error) *cobra.Command {
	return &cobra.Command{
		Use: "merge-driver BASE OURS THEIRS", Hidden: true, Short: "unite two states of a record, for git merge", Args: asUsed,
		Long: `Unite two states of a record for a plain git merge: all entries of both, in
order. The result is written over OURS. In an ordinary clone of a shop, once:

  git config merge.feedproof.driver "feedproof merge-driver %O %A %B"
  echo '*.json merge=feedproof' >> .git/info/attributes`,
		RunE: func(c *cobra.Command, args []string) error {
			return run(c.Context(), mergeDriverOptions{args[0], args[1], args[2]})
		},
	}
}

func runMergeDriver(_ context.Context, at outside, _ *terminal.Screen, o mergeDriverOptions) error {
	var texts [3][]byte
	for i, name := range []string{o.base, o.ours, o.theirs} {
		text, err := os.ReadFile(at.path(name))
		if err != nil {
			return err
		}
		texts[i] = text
	}
	merged, err := records.MergeFiles(texts[0], texts[1], texts[2])
	if err != nil {
		return failed("git merge --abort, and ask a lead which side was changed by hand", "merge: %v", err)
	}
	return os.WriteFile(at.path(o.ours), merged, 0o644)
}
