//go:build unix

package main

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/charmbracelet/x/vt"
	"github.com/creack/pty"
)

// seat is a person at a terminal: keys go in, a screen comes out.
type seat struct {
	testing.TB
	cmd    *exec.Cmd
	keys   *os.File
	screen *vt.SafeEmulator
	eye    sync.Mutex // the cells of the screen are looked at outside its own lock
	raw    *recorder
	gone   chan error
}

// recorder keeps what was written to the terminal.
type recorder struct {
	mu   sync.Mutex
	text strings.Builder
}

func (r *recorder) add(b []byte) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.text.Write(b)
}

func (r *recorder) String() string {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.text.String()
}

const (
	columns = 80
	rows    = 24
	patient = 20 * time.Second // a machine under load
)

// clock is the moment of the journeys.
const clock = "2026-03-02T09:00:00Z"

// sit starts the program in a shop on a terminal.
func sit(t testing.TB, shop, now string, environment []string, args ...string) *seat {
	t.Helper()
	s := &seat{TB: t, cmd: exec.Command("feedproof", append([]string{"--shop", shop}, args...)...), raw: &recorder{}, gone: make(chan error, 1)}
	s.cmd.Env = slices.DeleteFunc(os.Environ(), func(v string) bool { return strings.HasPrefix(v, "NO_COLOR=") })
	s.cmd.Env = append(s.cmd.Env, "TEST_NOW="+now, "TZ=UTC", "TERM=xterm-256color")
	s.cmd.Env = append(s.cmd.Env, environment...)
	s.screen = vt.NewSafeEmulator(columns, rows)
	f, err := pty.StartWithSize(s.cmd, &pty.Winsize{Cols: columns, Rows: rows})
	if err != nil {
		t.Fatal(err)
	}
	s.keys = f
	go func() { _, _ = io.Copy(f, s.screen) }() // its answers to questions of the program
	go func() {
		buffer := make([]byte, 1<<14)
		for {
			n, err := f.Read(buffer)
			s.raw.add(buffer[:n])
			s.eye.Lock()
			_, _ = s.screen.Write(buffer[:n])
			s.eye.Unlock()
			if err != nil {
				s.gone <- s.cmd.Wait()
				return
			}
		}
	}()
	t.Cleanup(func() { _ = s.cmd.Process.Kill(); _ = f.Close() })
	return s
}

// shown is the screen as text.
func (s *seat) shown() string {
	s.eye.Lock()
	defer s.eye.Unlock()
	var b strings.Builder
	for y := range rows {
		for x := range columns {
			cell := s.screen.CellAt(x, y)
			if cell == nil || cell.Content == "" {
				b.WriteByte(' ')
				continue
			}
			b.WriteString(cell.Content)
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// until waits for the screen to be so.
func (s *seat) until(what string, is func(string) bool) {
	s.Helper()
	for end := time.Now().Add(patient); time.Now().Before(end); time.Sleep(time.Millisecond) {
		if is(s.shown()) {
			return
		}
	}
	s.Fatalf("the screen never showed %s:\n%s", what, s.shown())
}

// sees waits for texts on the screen, in any place and folded at line ends.
func (s *seat) sees(texts ...string) {
	s.Helper()
	for _, text := range texts {
		s.until(fmt.Sprintf("%q", text), func(shown string) bool { return strings.Contains(folded(shown), folded(text)) })
	}
}

// loses waits for a text to be gone.
func (s *seat) loses(text string) {
	s.Helper()
	s.until("nothing of "+text, func(shown string) bool { return !strings.Contains(folded(shown), folded(text)) })
}

func folded(text string) string { return strings.Join(strings.Fields(text), " ") }

const (
	enter  = "\r"
	escape = "\x1b"
	erase  = "\x7f"
)

// press types keys one by one.
func (s *seat) press(keys ...string) {
	s.Helper()
	for _, k := range keys {
		if _, err := s.keys.WriteString(k); err != nil {
			s.Fatal(err)
		}
		time.Sleep(5 * time.Millisecond)
	}
}

// choose presses the number of a choice, turning pages until it is there.
func (s *seat) choose(text string) {
	s.Helper()
	const mostPages = 12
	s.sees("Press a number")
	for range mostPages {
		shown := s.still()
		for line := range strings.Lines(shown) {
			number, choice, ok := strings.Cut(strings.TrimSpace(line), "  ")
			if ok && len(number) == 1 && number >= "1" && number <= "9" && strings.Contains(choice, text) {
				s.press(number)
				s.until("what follows", func(now string) bool { return now != shown })
				return
			}
		}
		s.press("9")
		s.until("another page", func(now string) bool { return now != shown })
	}
	s.Fatalf("%q is no choice:\n%s", text, s.shown())
}

// still is the screen once it has stopped changing.
func (s *seat) still() string {
	for was := s.shown(); ; {
		time.Sleep(60 * time.Millisecond)
		now := s.shown()
		if now == was {
			return now
		}
		was = now
	}
}

// leave ends with 0 and demands that the program ends well.
func (s *seat) leave() {
	s.Helper()
	s.press("0")
	select {
	case err := <-s.gone:
		if err != nil {
			s.Fatalf("it ended with %v", err)
		}
	case <-time.After(patient):
		s.Fatalf("it did not leave:\n%s", s.shown())
	}
}

// powerCut ends the program at once, as a power cut does.
func (s *seat) powerCut() {
	s.Helper()
	if err := s.cmd.Process.Kill(); err != nil {
		s.Fatal(err)
	}
	select {
	case err := <-s.gone:
		if err == nil {
			s.Fatal("it ended well, and was to be killed")
		}
	case <-time.After(patient):
		s.Fatal("it could not be killed")
	}
}

// twoCars is an invented shop with two cars in it, made with the program once
// and copied for each journey.
func twoCars(t testing.TB) string {
	t.Helper()
	original.once.Do(func() { original.shop = makeTwoCars(t) })
	shop := filepath.Join(t.TempDir(), "shop")
	if err := os.CopyFS(shop, os.DirFS(original.shop)); err != nil {
		t.Fatal(err)
	}
	return shop
}

var original struct {
	once sync.Once
	shop string
}

func makeTwoCars(t testing.TB) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "feedproof-journeys-")
	if err != nil {
		t.Fatal(err)
	}
	shared = append(shared, dir)
	shop := filepath.Join(dir, "shop")
	lines := inventedLines(shop)
	lines = append(lines,
		[]string{"gauge", "add", "M1", "--name", "multimeter", "--measures", "voltage and current", "--accuracy", "0.02 V", "--division", "0.01 V"},
		[]string{"gauge", "calibrate", "M1", "--date", "2026-01-10", "--due", "2027-01-10"},
		[]string{"vehicle", "add", "osprey", "--plate", "OS 7", "--vin", "ZZ9FP2KT0N0004711", "--what", "red wagon", "--road", "yes"},
		[]string{"visit", "open", "osprey", "--kind", "a", "--odometer", "120300 km"},
	)
	for _, line := range lines {
		feedproof(t, shop, line...)
	}
	return shop
}

// feedproof runs one command and gives what it printed.
func feedproof(t testing.TB, shop string, args ...string) string {
	t.Helper()
	c := exec.Command("feedproof", append([]string{"--shop", shop}, args...)...)
	c.Env = append(os.Environ(), "TEST_NOW="+clock, "TZ=UTC")
	out, err := c.CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %v\n%s", args, err, out)
	}
	return string(out)
}
