// Package growth measures how the program's answers grow with the shop: it
// makes invented shops of several sizes, or takes those that are there, and
// times questions, search and the board as whole processes, first with no
// cache and then with it, beside the same question asked with git and jq.
package growth

import (
	"cmp"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Run measures the shops that the flags name and prints a table.
func Run(args []string, _ io.Writer) error {
	flags := flag.NewFlagSet("growth", flag.ContinueOnError)
	dir := flags.String("dir", "", "folder in which the shops are, or are made: cars-500, cars-2000, ...")
	sizes := flags.String("cars", "500,2000", "sizes, by commas")
	visits := flags.Int("visits", 1, "visits of each car")
	program := flags.String("program", "feedproof", "the program that is measured")
	if err := flags.Parse(args); err != nil {
		return err
	}
	return run(*dir, *sizes, *visits, *program)
}

// measures are command lines and what they are called in the table.
var measures = []struct{ name, line string }{
	{"question: lot", "ask lot PU-00001"},
	{"question: waivers", "ask waivers"},
	{"question: re-checks", "ask rechecks"},
	{"question: gauges", "ask gauges P1"},
	{"question: comebacks", "ask comebacks"},
	{"question: hoses", "ask hoses"},
	{"question: stops", "ask stops"},
	{"question: new rules", "ask new-rules"},
	{"search: a plate", "ask find AA0000"},
	{"search: two words", "ask find PU-00001 kestrel"},
	{"board", "board"},
	{"one car", "history kestrel-0001"},
}

func run(dir, sizes string, visits int, program string) error {
	if dir == "" {
		return errors.New("-dir: name a folder")
	}
	var columns [][]string
	head := []string{"", "records, packed and loose (MB)", "cache (MB)"}
	for _, m := range measures {
		head = append(head, m.name+", first", m.name+", later")
	}
	columns = append(columns, append(head, "waivers by git archive | tar | jq", "  that over ours, first", "  that over ours, later", "most memory, first (MB)"))
	for size := range strings.SplitSeq(sizes, ",") {
		shop := filepath.Join(dir, "cars-"+size)
		if err := makeShop(shop, size, visits); err != nil {
			return err
		}
		column, err := measure(shop, size, program)
		if err != nil {
			return fmt.Errorf("%s: %w", shop, err)
		}
		columns = append(columns, column)
	}
	for i := range columns[0] {
		fmt.Printf("%-42s", columns[0][i])
		for _, c := range columns[1:] {
			fmt.Printf("%18s", c[i])
		}
		fmt.Println()
	}
	fmt.Printf("seconds of whole processes, and in brackets of processor time, which others' work on the machine changes less;\n%s, %d processors; each later time is the median of five\n", runtime.GOARCH, runtime.NumCPU())
	return nil
}

// makeShop makes a shop that is not there.
func makeShop(shop, size string, visits int) error {
	if _, err := os.Stat(filepath.Join(shop, "shop.git", "HEAD")); err == nil {
		return nil
	}
	c := exec.Command("go", "run", "./cmd/dev", "invent", "-dir", shop, "-cars", size, "-visits", strconv.Itoa(visits))
	c.Stderr, c.Stdout = os.Stderr, os.Stderr
	return c.Run()
}

func measure(shop, cars, program string) ([]string, error) {
	column := []string{cars + " cars", megabytes(size(filepath.Join(shop, "shop.git"))), ""}
	var waivers [2]cost
	var memory, cache int64
	for _, m := range measures {
		if err := os.RemoveAll(filepath.Join(shop, "cache")); err != nil {
			return nil, err
		}
		first, err := timed(program, shop, m.line)
		if err != nil {
			return nil, err
		}
		var later []cost
		for range 5 {
			c, err := timed(program, shop, m.line)
			if err != nil {
				return nil, err
			}
			later = append(later, c)
		}
		slices.SortFunc(later, func(a, b cost) int { return cmp.Compare(a.wall, b.wall) })
		if memory = max(memory, first.memory); m.name == "question: waivers" {
			waivers = [2]cost{first, later[2]}
		}
		column = append(column, first.String(), later[2].String())
		cache = max(cache, size(filepath.Join(shop, "cache")))
		fmt.Fprintf(os.Stderr, "%s cars, %s: %s s, then %s s\n", cars, m.name, first, later[2])
	}
	column[2] = megabytes(cache)
	theirs, err := byJQ(shop)
	if err != nil {
		return append(column, err.Error(), "", "", strconv.FormatInt(memory>>20, 10)), nil
	}
	return append(column, theirs.String(), theirs.over(waivers[0]), theirs.over(waivers[1]), strconv.FormatInt(memory>>20, 10)), nil
}

// cost is what running something took.
type cost struct {
	wall, processor time.Duration
	memory          int64 // most at once, bytes
}

func (c cost) String() string {
	return fmt.Sprintf("%.3f (%.3f)", c.wall.Seconds(), c.processor.Seconds())
}

// over is how many times as much this is as another, by both clocks.
func (c cost) over(other cost) string {
	return fmt.Sprintf("%.1f (%.1f)", float64(c.wall)/float64(other.wall), float64(c.processor)/float64(other.processor))
}

// timed runs the program once.
func timed(program, shop, line string) (cost, error) {
	c := exec.Command(program, append([]string{"--shop", shop}, strings.Fields(line)...)...)
	var said strings.Builder
	c.Stderr = &said
	took, err := spent(c, func([]byte) error { return nil })
	if err != nil {
		err = fmt.Errorf("%s: %w: %s", line, err, said.String())
	}
	return took, err
}

func spent(c *exec.Cmd, check func([]byte) error) (cost, error) {
	began := time.Now()
	out, err := c.Output()
	took := cost{wall: time.Since(began), processor: c.ProcessState.UserTime() + c.ProcessState.SystemTime(), memory: peak(c.ProcessState)}
	if err == nil {
		err = check(out)
	}
	return took, err
}

// byJQ asks for the waivers of every car with git, tar and jq.
func byJQ(shop string) (cost, error) {
	for _, program := range []string{"git", "tar", "jq"} {
		if _, err := exec.LookPath(program); err != nil {
			return cost{}, fmt.Errorf("no %s", program)
		}
	}
	c := exec.Command("sh", "-c", `git --git-dir "$1/shop.git" archive HEAD vehicles | tar -xOf - | jq -c '.id as $r | .entries[] | select(.kind == "waive") | [$r, .id, .by, .data.finding, .data.expires]'`, "sh", shop)
	c.Stderr = os.Stderr
	return spent(c, func(out []byte) error {
		if len(out) == 0 {
			return errors.New("jq found no waiver")
		}
		return nil
	})
}

// size is the bytes in a folder, which may be missing.
func size(dir string) (sum int64) {
	_ = filepath.WalkDir(dir, func(_ string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		info, err := d.Info()
		if err == nil {
			sum += info.Size()
		}
		return err
	})
	return sum
}

func megabytes(bytes int64) string { return strconv.FormatFloat(float64(bytes)/1e6, 'f', 1, 64) }
