package invent

import (
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"time"
)

// Run makes the shop that the flags describe.
func Run(args []string, _ io.Writer) error {
	var o Options
	flags := flag.NewFlagSet("invent", flag.ContinueOnError)
	dir := flags.String("dir", "", "new folder of the shop")
	flags.IntVar(&o.Cars, "cars", 100, "cars")
	flags.IntVar(&o.Visits, "visits", 10, "visits of each car, on average")
	flags.IntVar(&o.Readings, "readings", 20, "readings of each visit, on average")
	flags.Uint64Var(&o.Seed, "seed", 1, "seed: the same one makes the same records")
	flags.IntVar(&o.Trouble, "trouble", 1, "how many times oftener than usual things go wrong")
	if err := flags.Parse(args); err != nil {
		return err
	}
	return run(*dir, o)
}

func run(dir string, o Options) error {
	if dir == "" {
		return fmt.Errorf("-dir: name a new folder for the shop")
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	began, shown := time.Now(), time.Time{}
	o.Progress = func(done, total int) {
		if done == total || time.Since(shown) > time.Second {
			shown = time.Now()
			fmt.Fprintf(os.Stderr, "\r%d of %d cars, %s", done, total, time.Since(began).Round(time.Second))
		}
	}
	made, err := Shop(ctx, dir, o)
	fmt.Fprintln(os.Stderr)
	if err != nil {
		return err
	}
	fmt.Printf("%s: %d cars, %d visits, %d readings, %d parts, %d commits in %s; today is %s\n",
		dir, made.Cars, made.Visits, made.Readings, made.Parts, made.Commits, time.Since(began).Round(time.Second), made.Today.Format(time.DateOnly))
	return nil
}
