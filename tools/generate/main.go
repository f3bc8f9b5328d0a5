// Command generate makes an invented shop of any size, for tests, benchmarks
// and for trying the questions on: the same size and seed make the same
// records. It writes through the same package as the program does.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"time"

	"feedproof/tools/generate/invent"
)

func main() {
	var o invent.Options
	dir := flag.String("dir", "", "new folder of the shop")
	flag.IntVar(&o.Cars, "cars", 100, "cars")
	flag.IntVar(&o.Visits, "visits", 10, "visits of each car, on average")
	flag.IntVar(&o.Readings, "readings", 20, "readings of each visit, on average")
	flag.Uint64Var(&o.Seed, "seed", 1, "seed: the same one makes the same records")
	flag.IntVar(&o.Trouble, "trouble", 1, "how many times oftener than usual things go wrong")
	flag.Parse()
	if err := run(*dir, o); err != nil {
		fmt.Fprintln(os.Stderr, "generate:", err)
		os.Exit(1)
	}
}

func run(dir string, o invent.Options) error {
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
	made, err := invent.Shop(ctx, dir, o)
	fmt.Fprintln(os.Stderr)
	if err != nil {
		return err
	}
	fmt.Printf("%s: %d cars, %d visits, %d readings, %d parts, %d commits in %s; today is %s\n",
		dir, made.Cars, made.Visits, made.Readings, made.Parts, made.Commits, time.Since(began).Round(time.Second), made.Today.Format(time.DateOnly))
	return nil
}
