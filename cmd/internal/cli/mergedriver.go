package cli

import (
	"os"

	"feedproof/records"

	"github.com/spf13/cobra"
)

func (a *app) mergeDriverCommand() *cobra.Command {
	return &cobra.Command{
		Use: "merge-driver BASE OURS THEIRS", Hidden: true, Short: "unite two states of a record, for git merge", Args: takes("BASE", "OURS", "THEIRS"),
		Long: `Unite two states of a record for a plain git merge: all entries of both, in
order. The result is written over OURS. In an ordinary clone of a shop, once:

  git config merge.feedproof.driver "feedproof merge-driver %O %A %B"
  echo '*.json merge=feedproof' >> .git/info/attributes`,
		RunE: func(_ *cobra.Command, args []string) error {
			var texts [3][]byte
			for i, name := range args {
				text, err := os.ReadFile(a.path(name))
				if err != nil {
					return err
				}
				texts[i] = text
			}
			merged, err := records.MergeFiles(texts[0], texts[1], texts[2])
			if err != nil {
				return failed("git merge --abort, and ask a lead which side was changed by hand", "merge: %v", err)
			}
			return os.WriteFile(a.path(args[1]), merged, 0o644)
		},
	}
}
