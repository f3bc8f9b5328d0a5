package cli

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"

	"feedproof/cmd/internal/terminal"

	"github.com/spf13/cobra"
)

// demoOptions are where the story is played, and for whom.
type demoOptions struct {
	dir  string // empty is a temporary one
	tour bool   // for a newcomer, chapter by chapter
}

func newDemoCommand(run func(context.Context, demoOptions) error) *cobra.Command {
	var o demoOptions
	c := &cobra.Command{
		Use: "demo", Short: "an invented shop: one car from intake to sign-off", Args: asUsed,
		Long: "Run one car's story through the real commands in a new invented shop: shop,\npeople, cars, makers, part numbers and curves are made up from end to end. Each\ncommand line is shown with what it really prints. The story is dated yesterday,\nfrom 07:00 UTC on.\n\n--tour shows a newcomer the lines that teach something, and why,\nin five minutes.",
		RunE: func(c *cobra.Command, _ []string) error { return run(c.Context(), o) },
	}
	c.Flags().BoolVar(&o.tour, "tour", false, "walk through it, chapter by chapter")
	c.Flags().StringVar(&o.dir, "dir", "", "new folder for the shop (default: a temporary one)")
	return c
}

// playing lays the story out for a person, also in a pipe.
func playing(a *app) func(context.Context, demoOptions) error {
	return func(_ context.Context, o demoOptions) error {
		a.World.Reader = true
		a.look()
		return runDemo(a.World, a.Screen, a.flags.plain, o)
	}
}

// play is the story as it is played: where, and at which moment of it.
type play struct {
	world World
	out   *terminal.Screen
	plain bool
	dir   string
	clock *demoClock
}

// runDemo runs the story. A line that ends otherwise than it should is a
// failure.
func runDemo(w World, out *terminal.Screen, plain bool, o demoOptions) error {
	if o.dir == "" {
		temporary, err := os.MkdirTemp("", "feedproof-demo-")
		if err != nil {
			return err
		}
		o.dir = filepath.Join(temporary, "shop")
	}
	year, month, day := w.Now().UTC().AddDate(0, 0, -1).Date()
	p := play{w, out, plain, folder(w.Dir).path(o.dir), &demoClock{time.Date(year, month, day, 7, 0, 0, 0, time.UTC)}}
	if o.tour {
		return guidedTour(p)
	}
	for _, line := range demoStory {
		if err := demoLine(p, line); err != nil {
			return err
		}
	}
	out.Say("")
	out.Say("The shop is in %s. Try: feedproof --shop %s", p.dir, p.dir)
	return nil
}

// demoClock is the story's own clock.
type demoClock struct{ now time.Time }

// demoStep is how long a step of the story takes.
const demoStep = 3 * time.Minute

func (c *demoClock) Now() time.Time { return c.now }

// demoLine shows a line of the story and runs it: a title when it begins with
// #, else a command, its expected exit code in front when it is not 0.
func demoLine(p play, line string) error {
	if title, ok := strings.CutPrefix(line, "#"); ok {
		fmt.Fprintln(p.out.Out)
		p.out.Head("%s", strings.TrimSpace(title))
		return nil
	}
	want := exitDone
	if text, rest, ok := strings.Cut(line, " "); ok && len(text) == 1 {
		want, line = int(text[0]-'0'), rest
	}
	line = demoDates(line, p.clock.now)
	p.out.Say("")
	fmt.Fprintln(p.out.Out, typed("$ feedproof "+strings.ReplaceAll(line, demoFolder, filepath.Base(p.dir))))
	args := demoArgs(strings.ReplaceAll(line, demoFolder, p.dir))
	if p.plain {
		args = slices.Concat([]string{"--plain"}, args)
	}
	world := p.world
	world.Now, world.Dir, world.Getenv = p.clock.Now, p.dir, demoEnvironment(p.world.Getenv)
	world.Err = world.Out // in order, also in a pipe
	if strings.HasPrefix(line, "vehicle add") {
		if err := demoFiles(p.dir); err != nil {
			return err
		}
	}
	if got := Main(world, args); got != want {
		return failed("please report it with the output above", "demo: this line ended with exit code %d, not %d: feedproof %s", got, want, line)
	}
	p.clock.now = p.clock.now.Add(demoStep)
	return nil
}

// typed is a command line as it would be typed in lines of a screen's width,
// broken at spaces outside quotes.
func typed(line string) string {
	const width, carryOn = 80, " \\\n    "
	var out strings.Builder
	used := 0
	for word := range strings.SplitSeq(wordAndSpace.ReplaceAllString(line, "$0\n"), "\n") {
		word = strings.TrimSuffix(word, " ")
		switch {
		case used == 0:
		case used+len(word)+len(" \\") >= width:
			out.WriteString(carryOn)
			used = 4
		default:
			out.WriteString(" ")
			used++
		}
		out.WriteString(word)
		used += len(word)
	}
	return out.String()
}

// wordAndSpace is a word with its quoted parts and the space after it, an
// option with its value.
var wordAndSpace = regexp.MustCompile(`(?:--[a-z-]+ )?(?:[^" ]|"[^"]*")+ `)

// demoFolder stands for the shop's folder in the story.
const demoFolder = "SHOP"

// demoEnvironment keeps this machine's shop out of the story.
func demoEnvironment(getenv func(string) string) func(string) string {
	return func(name string) string {
		if strings.HasPrefix(name, "FEEDPROOF_") {
			return ""
		}
		return getenv(name)
	}
}

// demoDates puts dates in: +30d is 30 days on.
func demoDates(line string, now time.Time) string {
	for _, days := range []int{-90, 30, 270} {
		line = strings.ReplaceAll(line, fmt.Sprintf("%+dd", days), now.AddDate(0, 0, days).Format(time.DateOnly))
	}
	return line
}

// demoArgs splits a line at spaces outside double quotes.
func demoArgs(line string) []string {
	var args []string
	for i, part := range strings.Split(line, `"`) {
		if i%2 == 1 {
			args[len(args)-1] += part
			continue
		}
		for j, word := range strings.Split(part, " ") {
			if j == 0 && len(args) > 0 {
				args[len(args)-1] += word
			} else {
				args = append(args, word)
			}
		}
	}
	return slices.DeleteFunc(args, func(s string) bool { return s == "" })
}
