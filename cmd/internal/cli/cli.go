// Package cli is the command line: one command a file. It reads what was
// typed, asks a desk, and hands the answer to the screen.
//
// Start with [Main]. Manners: the thing first, then what is wrong, then the
// command that mends it; a fact is written down before the prompt returns;
// the last car is never assumed. What is deliberately absent: rules and
// storage.
package cli

import (
	"context"
	"io"
	"os"
	"regexp"
	"slices"
	"strings"
	"time"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"

	"github.com/spf13/cobra"
)

// World is all that a command touches outside the shop.
type World struct {
	In       io.Reader
	Out, Err io.Writer
	Dir      string // working folder
	Getenv   func(string) string
	Now      func() time.Time
	Version  string
	Reader   bool // lay pages out for a person, also in a pipe
}

// Main runs one command line and returns the exit code; see [Help].
func Main(w World, args []string) int {
	a := &app{World: w}
	root := a.root()
	ownWords(root)
	root.SetArgs(withNegatives(args))
	root.SetIn(w.In)
	root.SetOut(terminal.Outlet(w.Out))
	root.SetErr(terminal.Outlet(w.Err))
	err := readable(args)
	if err == nil {
		err = root.ExecuteContext(context.Background())
	}
	if a.Screen == nil { // it failed before a command looked
		a.look()
	}
	return report(a.Screen, err)
}

// negative is how a number below zero begins; no flag does.
var negative = regexp.MustCompile(`^-[0-9.,]`)

// withNegatives keeps numbers below zero from being read as flags: a space
// before them, which no number minds.
func withNegatives(args []string) []string {
	out := slices.Clone(args)
	for i, word := range out {
		if negative.MatchString(word) {
			out[i] = " " + word
		}
	}
	return out
}

// app is one run of the program.
type app struct {
	World
	*terminal.Screen
	flags commonFlags
}

// commonFlags are those of every command.
type commonFlags struct {
	shop, as    string
	json, plain bool
}

// Out of World and Screen are the same stream; commands use the screen's.
func (a *app) look() {
	a.Screen = terminal.New(a.World.Out, a.World.Err, terminal.Options{
		Plain:   a.flags.plain || a.Getenv("TERM") == "dumb",
		NoColor: a.Getenv("NO_COLOR") != "",
		Reader:  a.World.Reader,
		JSON:    a.flags.json,
	})
}

const about = `A shop's build log and inspection checklist for fuel-system work on modified
road and track cars: plan it, record it, judge it, sign it.

Without a command it shows the board of the shop you are in.

Fuel burns. Makers' instructions, local codes and licensed trades come before
anything this program says. It states facts and limits; it never says that a car
or a job is legal.`

const exitHelp = `
Exit codes: 0 done, 1 failed, 2 wrong usage, 3 refused, 4 history or signature
does not verify, 5 another process is writing.
Environment: FEEDPROOF_SHOP (folder of the shop), FEEDPROOF_AS (who), NO_COLOR.
`

func (a *app) root() *cobra.Command {
	c := &cobra.Command{
		Use: "feedproof", Short: "build log and inspection checklist for fuel-system work", Long: about,
		Version: a.Version, Args: unknownCommand, SilenceErrors: true, SilenceUsage: true,
		PersistentPreRun: func(*cobra.Command, []string) { a.look() },
		RunE: func(c *cobra.Command, _ []string) error {
			return on(a, runBoard)(c.Context(), boardOptions{brief: true})
		},
	}
	cobra.AddTemplateFunc("build", func(version string) string { return thisBuild(version).lines() })
	c.SetVersionTemplate("{{build .Version}}\n")
	c.SetUsageTemplate(strings.ReplaceAll(c.UsageTemplate(), ".FlagUsages", ".FlagUsagesWrapped 80") + exitHelp)
	c.SetFlagErrorFunc(flagError)
	f := c.PersistentFlags()
	f.StringVar(&a.flags.shop, "shop", "", "folder of the shop (default: found by walking up)")
	f.StringVar(&a.flags.as, "as", "", "who is doing this (default: who is on this machine)")
	f.BoolVar(&a.flags.json, "json", false, "print facts as JSON")
	f.BoolVar(&a.flags.plain, "plain", false, "no colour, ASCII only")
	c.CompletionOptions.HiddenDefaultCmd = true
	a.addCommands(c)
	illustrate(c)
	complete(c, func() (*desk.Desk, error) {
		a.look()
		return openDesk(a.World, a.flags, a.Screen)
	})
	return c
}

// addCommands is the list of commands, by what they are for.
//
// A command is three things in one file, flags -> options -> run:
//
//   - type readOptions struct holds what was typed, arguments too, and nothing
//     else: a flag writes straight into its field. Texts that must be looked up
//     (a car, a person, a gauge, a time) stay texts here.
//   - newReadCommand(run func(context.Context, readOptions) error) says the
//     command's words and flags; its line of use says which arguments it takes,
//     and asUsed holds them to it. Its RunE moves the arguments into the options
//     and calls run: no shop, no branch on a value, no output. A command for
//     which one flag excludes another says so by either.
//   - runRead(ctx, d *desk.Desk, out *terminal.Screen, o readOptions) error does
//     it: find, check what was typed, ask the desk, show. It changes nothing of o
//     and reaches nothing that is not handed to it. What only it needs are
//     functions beside it, with what they need as arguments: no methods. Facts go
//     out as JSON when out.AsJSON(), from a named struct that json_test.go lists.
//
// on(a, runRead) opens the shop for it; on(a, here(a, runAttach)) also hands it
// the folder that files are named from, and on(a, beyond(a, runSync)) all that is
// outside the shop; without(a, runShopNew) is for one that needs no shop. A group
// takes the commands below it. What fails is wrong (of what was typed), failed,
// or a *desk.Error from below: never a text that somebody takes apart. What two
// commands show alike is in show.go and write.go; what a second face would need
// as well belongs to the desk.
//
// Each has two tables in its own test file, of the forms in form_test.go: fills, from
// lines to options, with at least one line that is wrong; and says, answers,
// listed and refuses, from options to what is shown, on the shop of desktest.
func (a *app) addCommands(root *cobra.Command) {
	for _, g := range []struct {
		id, title string
		commands  []*cobra.Command
	}{
		{"shop", "The shop:", []*cobra.Command{
			newShopCommand(newShopNewCommand(without(a, runShopNew)), newShopJoinCommand(without(a, runShopJoin)), newShopTidyCommand(on(a, runShopTidy))),
			newPersonCommand(newPersonAddCommand(on(a, here(a, runPersonAdd))), newPersonListCommand(on(a, runPersonList)),
				newPersonKeyCommand(on(a, here(a, runPersonKey))), newPersonRevokeCommand(on(a, runPersonRevoke))),
			newUseCommand(on(a, runUse)),
			newBayCommand(on(a, runBay)),
			newLimitCommand(on(a, runLimit)),
			newGaugeCommand(newGaugeAddCommand(on(a, runGaugeAdd)), newGaugeCalibrateCommand(on(a, runGaugeCalibrate)), newGaugeCheckCommand(on(a, runGaugeCheck)), newGaugeListCommand(on(a, runGaugeList))),
			newPartCommand(newPartReceiveCommand(on(a, here(a, runPartReceive))), newPartQuarantineCommand(on(a, runPartQuarantine)), newPartListCommand(on(a, runPartList))),
		}},
		{"car", "A car and its visit:", []*cobra.Command{
			newVehicleCommand(newVehicleAddCommand(on(a, runVehicleAdd)), newVehicleChangeCommand(on(a, runVehicleChange)), newVehicleListCommand(on(a, runVehicleList)),
				newVehicleShowCommand(on(a, runVehicleShow)), newVehicleCloseCommand(on(a, runVehicleClose))),
			newVisitCommand(newVisitOpenCommand(on(a, runVisitOpen)), newVisitCloseCommand(on(a, runVisitClose))),
			newPlanCommand(on(a, here(a, runPlan))),
		}},
		{"work", "The work:", []*cobra.Command{
			newWorkCommand(on(a, beyond(a, runWork))),
			newServeCommand(on(a, beyond(a, runServe))),
			newHandoverCommand(on(a, runHandover)),
			newFitCommand(on(a, runFit)),
			newRemoveCommand(on(a, runRemove)),
			newStepCommand(on(a, runStep)),
			newCautionCommand(on(a, runCaution)),
			newReadCommand(on(a, runRead)),
			newDatalogCommand(on(a, here(a, runDatalog))),
			newAttachCommand(on(a, here(a, runAttach))),
			newNoteCommand(on(a, runNote)),
			newIncidentCommand(on(a, runIncident)),
			newCorrectCommand(on(a, runCorrect)),
		}},
		{"judge", "Judging and signing:", []*cobra.Command{
			newCheckCommand(on(a, runCheck)),
			newCommitCommand(on(a, runCommit)),
			newAcknowledgeCommand(on(a, runAcknowledge)),
			newWaiveCommand(on(a, runWaive)),
			newConfirmCommand(on(a, runConfirm)),
			newHoldPointCommand(newPointListCommand(on(a, runPointList)), newPointCloseCommand(on(a, runPointClose)), newPointReopenCommand(on(a, runPointReopen))),
			newSignoffCommand(on(a, runSignoff)),
		}},
		{"look", "Looking and proving:", []*cobra.Command{
			newBoardCommand(on(a, runBoard)),
			newSheetCommand(on(a, here(a, runSheet))),
			newHistoryCommand(on(a, runHistory)),
			newEvidenceCommand(on(a, here(a, runEvidence))),
			newAskCommand(asking(a)),
			newExportCommand(on(a, beyond(a, runExport))),
			newSyncCommand(on(a, beyond(a, runSync))),
			newMergeDriverCommand(without(a, runMergeDriver)),
			newVerifyCommand(on(a, here(a, runVerify))),
			newExplainCommand(without(a, runExplain)),
			newDemoCommand(playing(a)),
		}},
	} {
		root.AddGroup(&cobra.Group{ID: g.id, Title: g.title})
		for _, c := range g.commands {
			c.GroupID = g.id
			root.AddCommand(c)
		}
	}
}

// on opens the shop and runs a command there.
func on[O any](a *app, run func(context.Context, *desk.Desk, *terminal.Screen, O) error) func(context.Context, O) error {
	return func(ctx context.Context, o O) error {
		d, err := openDesk(a.World, a.flags, a.Screen)
		if err != nil {
			return err
		}
		return run(ctx, d, a.Screen, o)
	}
}

// here hands a command the folder it was typed in, which files are named from.
func here[O any](a *app, run func(context.Context, *desk.Desk, *terminal.Screen, folder, O) error) func(context.Context, *desk.Desk, *terminal.Screen, O) error {
	return func(ctx context.Context, d *desk.Desk, out *terminal.Screen, o O) error {
		return run(ctx, d, out, folder(a.Dir), o)
	}
}

// beyond hands a command what it may reach beside the shop.
func beyond[O any](a *app, run func(context.Context, *desk.Desk, *terminal.Screen, outside, O) error) func(context.Context, *desk.Desk, *terminal.Screen, O) error {
	return func(ctx context.Context, d *desk.Desk, out *terminal.Screen, o O) error {
		return run(ctx, d, out, outsideOf(a.World, a.flags, a.Screen), o)
	}
}

// without runs a command that needs no shop.
func without[O any](a *app, run func(context.Context, outside, *terminal.Screen, O) error) func(context.Context, O) error {
	return func(ctx context.Context, o O) error {
		return run(ctx, outsideOf(a.World, a.flags, a.Screen), a.Screen, o)
	}
}

// noOptions are those of a command that takes nothing.
type noOptions struct{}

// longLater writes a command's long text when it is asked for: commands that
// do something need not wait for it.
func longLater(c *cobra.Command, long func() string) {
	usual := c.HelpFunc()
	c.SetHelpFunc(func(c *cobra.Command, args []string) {
		c.Long = long()
		usual(c, args)
	})
}

// group is a command that only holds others.
func group(use, short string, commands ...*cobra.Command) *cobra.Command {
	c := &cobra.Command{Use: use, Short: short, Args: noSuchCommand, RunE: func(c *cobra.Command, _ []string) error { return c.Help() }}
	c.AddCommand(commands...)
	return c
}

// System is the world as the operating system has it.
func System() World {
	dir, err := os.Getwd()
	if err != nil {
		dir = "."
	}
	return World{In: os.Stdin, Out: os.Stdout, Err: os.Stderr, Dir: dir, Getenv: os.Getenv, Now: time.Now, Version: version()}
}
