package cli

import (
	"context"
	"errors"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/records"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// commitOptions are how a draft goes into the record.
type commitOptions struct {
	car     string
	held    bool
	message string // first line of the commit
}

func newCommitCommand(run func(context.Context, commitOptions) error) *cobra.Command {
	var o commitOptions
	c := &cobra.Command{
		Use: "commit CAR", Short: "put the draft into the record, or say why not", Args: asUsed,
		Long: "Put the draft into the record. The rules run first: with a HOLD, BLOCK or STOP\nopen nothing is changed and the exit code is 3. --held records the same facts\nwith the car held, which every screen shows until nothing is open.",
		RunE: func(c *cobra.Command, args []string) error {
			o.car = args[0]
			return run(c.Context(), o)
		},
	}
	c.Flags().BoolVar(&o.held, "held", false, "record the facts with the car held")
	c.Flags().StringVarP(&o.message, "message", "m", "", "first line of the commit")
	return c
}

func runCommit(ctx context.Context, d *desk.Desk, out *terminal.Screen, o commitOptions) error {
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	done, err := d.Commit(ctx, c, o.held, o.message)
	if err != nil {
		return err
	}
	defer tidyWhenDue(ctx, d, out)
	return showCommit(out, c, done)
}

// commitJSON is what a commit answers with --json.
type commitJSON struct {
	Vehicle  string           `json:"vehicle"`
	Commit   string           `json:"commit"`
	Entries  int              `json:"entries"`
	Held     bool             `json:"held"`
	Findings []schema.Finding `json:"findings"` // above OK
}

func showCommit(out *terminal.Screen, c desk.Car, done desk.Committed) error {
	var found []schema.Finding
	for _, f := range done.Findings {
		if f.Severity > schema.Note && f.Answered == "" {
			found = append(found, f)
		}
	}
	if out.AsJSON() {
		return out.JSON(commitJSON{c.Data.Name, done.Commit, len(done.Added), done.Held, list(desk.Named(found, c.Data.Name))})
	}
	state := ""
	if done.Held {
		state = "; the car is HELD"
	}
	out.Say("%s: %s committed as %.12s%s", c.Data.Name, desk.Plural(len(done.Added), "entry"), done.Commit, state)
	said, later := checklist.Parted(found)
	out.Findings(desk.Named(said, c.Data.Name))
	if len(later) > 0 {
		out.Say("%s waiting for a record before the sign-off: feedproof check %s", desk.Plural(len(later), "thing"), desk.Quoted(c.Data.Name))
	}
	return nil
}

// tidyWhenDue tidies after a commit when it is time. The commit is done whatever comes of it.
func tidyWhenDue(ctx context.Context, d *desk.Desk, out *terminal.Screen) {
	if !d.Store().Untidy() {
		return
	}
	_, err := d.Store().Tidy(ctx, out.Progress("tidying object"))
	if err != nil && !errors.Is(err, records.ErrBusy) {
		out.Warn("the commit is safe; tidying afterwards failed: %v: run feedproof shop tidy", err)
	}
}
