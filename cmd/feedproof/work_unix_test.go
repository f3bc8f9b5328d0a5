//go:build unix

package main

import (
	"os/exec"
	"strings"
	"testing"
)

// Journeys of people at the guided screen: keys in, screen out, and then what
// the record holds. The situations are those of the trade: common practice.

// read goes to a reading from the next thing.
func (s *seat) read(test string) {
	s.Helper()
	s.sees("1 RECORD")
	s.press("8")
	s.choose("another reading")
	s.choose(test + ":")
	s.sees("READ " + test)
}

// history is what the record and draft of a car hold, one fact a line.
func history(t *testing.T, shop, car string) string {
	t.Helper()
	return feedproof(t, shop, "history", car)
}

func holds(t *testing.T, shop, car string, facts ...string) {
	t.Helper()
	all := history(t, shop, car)
	for _, f := range facts {
		if !strings.Contains(all, f) {
			t.Errorf("%s: the record lacks %q:\n%s", car, f, all)
		}
	}
}

func lacks(t *testing.T, shop, car, fact string) {
	t.Helper()
	if all := history(t, shop, car); strings.Contains(all, fact) {
		t.Errorf("%s: the record has %q:\n%s", car, fact, all)
	}
}

// A reading that is the next thing takes at most three keys beside its number:
// 1, the number, Enter. The limit and both systems of units stand beside it.
func TestWorkRecordsInTwoKeys(t *testing.T) {
	t.Parallel()
	shop := twoCars(t)
	s := sit(t, shop, clock, nil, "work", "kestrel")
	s.sees("KT 42", "silver hatchback", "bay 2", "tech-1 Sam Reed", "Mon 2 Mar 09:00", "F U E L C L O S E D", "1 RECORD", "2 SOMETHING'S WRONG", "3 HAND OVER")
	s.press("8")
	s.choose("READ base")
	s.sees("base: base pressure, reference hose off", "1 RECORD")
	s.press("1")
	s.sees("rail", "bar", "on P1, rail gauge")
	s.press("3.0")
	s.sees("= 43.5 psi")
	s.press("0", enter)
	s.sees("Recorded #3: base: rail 3.00 bar (43.5 psi) on P1, hose off")
	s.leave()
	holds(t, shop, "kestrel", "base: rail 3.00 bar (43.5 psi) on P1")
}

// Gloves press two keys at once, the wrong one, Enter twice.
func TestWorkForgivesGloves(t *testing.T) {
	t.Parallel()
	shop := twoCars(t)
	s := sit(t, shop, clock, nil, "work", "kestrel")
	s.sees("1 RECORD")
	s.press("k", "ö", enter, enter, erase, "\x1b[15~", "\t")
	s.sees("1 RECORD")
	s.read("base")
	s.press("3", ".", ".", "0", enter)
	s.sees("3..0", "!") // said, and what was typed is still there
	s.press(erase, erase, "0", "0", "0", erase, enter)
	s.sees("Recorded #3: base: rail 3.00 bar")
	s.press(enter, enter, enter)
	s.loses("Recorded #3")
	s.press("2")
	s.sees("What is wrong?")
	s.press("0")
	s.sees("1 RECORD")
	s.leave()
	if n := strings.Count(history(t, shop, "kestrel"), "base: rail"); n != 1 {
		t.Errorf("%d readings, want one", n)
	}
}

// The power goes in the middle of a reading of three values: what was typed is
// there again, at the value that was next, and so is the last entry.
func TestWorkComesBackAfterAPowerCut(t *testing.T) {
	t.Parallel()
	shop := twoCars(t)
	s := sit(t, shop, clock, nil, "work", "kestrel")
	s.read("base")
	s.press("3", ".", "0", "0", enter)
	s.sees("Recorded #3")
	s.read("leak-down")
	s.press("3.00", enter)
	s.sees("start 3.00 bar (43.5 psi)")
	s.press("2.9")
	s.sees("2.9_ bar")
	s.powerCut()
	again := sit(t, shop, clock, nil, "work", "kestrel")
	again.sees("READ leak-down", "start 3.00 bar (43.5 psi)", "end")
	again.press("2.92", enter)
	again.sees("end 2.92 bar")
	again.press("300", enter, enter)
	again.sees("Recorded #4: leak-down: start 3.00 bar (43.5 psi) on P1, end 2.92 bar (42.4 psi), time 300 s")
	again.leave()
	holds(t, shop, "kestrel", "base: rail 3.00 bar", "leak-down: start 3.00 bar (43.5 psi) on P1, end 2.92 bar (42.4 psi), time 300 s")
}

// A reading typed on the wrong car is moved, not lost: it stands on the other
// car and counts here no longer.
func TestWorkMovesAnEntryToTheRightCar(t *testing.T) {
	t.Parallel()
	shop := twoCars(t)
	s := sit(t, shop, clock, nil, "work", "kestrel")
	s.read("base")
	s.press("2.50", enter)
	s.sees("Recorded #3: base: rail 2.50 bar")
	s.press("2")
	s.choose("belongs to another car")
	s.choose("base: rail 2.50 bar")
	s.choose("OS 7")
	s.sees("Moved to OS 7: #3 base: rail 2.50 bar")
	s.press("6")
	s.choose("OS 7")
	s.sees("OS 7", "…004711", "osprey", "red wagon")
	s.leave()
	holds(t, shop, "kestrel", "belongs to the other car")
	holds(t, shop, "osprey", "base: rail 2.50 bar")
}

// Two people work on one car, one in the boot and one at the rail: both facts
// stand, each by who wrote it.
func TestWorkTwoPeopleOneCar(t *testing.T) {
	t.Parallel()
	shop := twoCars(t)
	boot := sit(t, shop, clock, nil, "work", "kestrel", "--bay", "boot")
	rail := sit(t, shop, clock, nil, "work", "kestrel", "--bay", "rail", "--as", "tech-2")
	boot.sees("bay boot", "tech-1 Sam Reed")
	rail.sees("bay rail", "tech-2 Kim Ash")
	boot.read("plug")
	rail.read("zero")
	boot.press("0.00")
	rail.press("0.01")
	boot.press(enter)
	rail.press(enter)
	boot.sees("plug: volts 0.00 V")
	rail.sees("zero: rail 0.01 bar")
	boot.press("7")
	boot.choose("tech-2")
	boot.sees("tech-2 Kim Ash")
	boot.leave()
	rail.leave()
	all := history(t, shop, "kestrel")
	for _, want := range []string{"tech-1", "tech-2"} {
		found := false
		for line := range strings.Lines(all) {
			found = found || strings.Contains(line, want) && (strings.Contains(line, "plug: volts") || strings.Contains(line, "zero: rail"))
		}
		if !found {
			t.Errorf("no reading by %s:\n%s", want, all)
		}
	}
	if !strings.Contains(feedproof(t, shop, "--json", "use", "tech-1"), `"tech-1"`) {
		t.Error("who is on this machine changed with a window of it")
	}
}

// 43.5 typed with bar beside the box: the other system shows 630.9 psi, the
// finding comes at once, and the slip is undone with one key. The unit that was
// picked is remembered for this person, and shown.
func TestWorkUnitSlip(t *testing.T) {
	t.Parallel()
	shop := twoCars(t)
	s := sit(t, shop, clock, nil, "work", "kestrel")
	s.read("base")
	s.press("43.5")
	s.sees("43.5_ bar", "= 630.9 psi")
	s.press(enter)
	s.sees("Recorded #3: base: rail 43.5 bar (630.9 psi)", "5 undo")
	s.press("5")
	s.sees("Taken back as a slip: #3 base: rail 43.5 bar")
	s.read("base")
	s.press(enter)
	s.choose("the number is in psi")
	s.sees("_ psi")
	s.press("43.5")
	s.sees("= 3.00 bar")
	s.press(enter)
	s.sees("Recorded #5: base: rail 43.5 psi (3.00 bar)")
	s.read("zero")
	s.sees("_ psi") // remembered, and shown
	s.press("0.01 bar", enter)
	s.sees("Recorded #6: zero: rail 0.01 bar")
	s.press("3")
	s.sees("HAND OVER")
	s.press("0")
	s.leave()
	holds(t, shop, "kestrel", "slip, taken back at once", "base: rail 43.5 psi (3.00 bar)")
}

// A slip can be undone for a minute, even after a restart; later it is a
// correction that gives its reason.
func TestWorkUndoWithinAMinute(t *testing.T) {
	t.Parallel()
	shop := twoCars(t)
	s := sit(t, shop, clock, nil, "work", "kestrel")
	s.read("base")
	s.press("2.00", enter)
	s.sees("5 undo (60 s)")
	s.powerCut()
	late := sit(t, shop, "2026-03-02T09:01:01Z", nil, "work", "kestrel")
	late.sees("1 RECORD")
	late.loses("5 undo")
	late.press("5")
	late.sees("a slip is taken back within a minute")
	late.press("0")
	if err := <-late.gone; err != nil {
		t.Fatal(err)
	}
	soon := sit(t, shop, "2026-03-02T09:00:59Z", nil, "work", "kestrel")
	soon.sees("5 undo (1 s)")
	soon.press("5")
	soon.sees("Taken back as a slip: #3 base: rail 2.00 bar")
	soon.leave()
	holds(t, shop, "kestrel", "slip, taken back at once")
}

// The emergency card is one key away, also from the middle of a reading, which
// is not lost.
func TestWorkEmergencyCard(t *testing.T) {
	t.Parallel()
	shop := twoCars(t)
	s := sit(t, shop, clock, nil, "work", "kestrel")
	s.sees("9 EMERGENCY")
	s.press("9")
	s.sees("Emergency", "Everyone out", "injected fuel", "Somebody down in a tank or pit")
	s.press(enter)
	s.read("leak-down")
	s.press("3.00", enter)
	s.sees("start 3.00 bar")
	s.press("e")
	s.sees("Everyone out")
	s.press(enter)
	s.sees("READ leak-down", "start 3.00 bar", "end")
	s.press("?")
	s.sees("Reading: leak-down")
	s.press(enter)
	s.sees("READ leak-down", "start 3.00 bar")
	s.press(escape)
	s.sees("1 RECORD")
	s.leave()
	lacks(t, shop, "kestrel", "leak-down")
}

// The next shift sees what is open and what was begun, and the record says who
// took the car.
func TestWorkHandOver(t *testing.T) {
	t.Parallel()
	shop := twoCars(t)
	feedproof(t, shop, "read", "kestrel", "plug", "0.00V")
	feedproof(t, shop, "step", "kestrel", "B12", "--joint", "rail inlet")
	feedproof(t, shop, "step", "kestrel", "a7", "--started")
	s := sit(t, shop, clock, nil, "work", "kestrel")
	s.sees("S T O P")
	s.press("3")
	s.sees("HAND OVER", "line OPEN at rail inlet", "battery OFF", "begun, not finished: step a7 by tech-1", "NOT SAFE, STOP", "WILL NOT LEAVE LIKE THIS")
	s.press("1")
	s.choose("tech-2")
	s.sees("tech-2 Kim Ash", "handed over from tech-1 to tech-2: STOP: gas before opening rail inlet; line OPEN at rail inlet; battery OFF; step a7 begun")
	s.leave()
	holds(t, shop, "kestrel", "handed over from tech-1 to tech-2")
}

// Line by line, for screen readers and pipes: no colour, no drawing, one
// answer a line.
func TestWorkPlain(t *testing.T) {
	t.Parallel()
	shop := twoCars(t)
	c := exec.Command("feedproof", "--shop", shop, "--plain", "work", "kestrel")
	c.Env = append(c.Environ(), "TEST_NOW="+clock, "TZ=UTC")
	c.Stdin = strings.NewReader("8\n9\n9\n0\n9\n\n2\n3\n0.5\n0\n")
	out, err := c.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	text := string(out)
	for _, want := range []string{"KT 42", "o FUEL CLOSED", "1 RECORD", "Everyone out", "What is wrong?", "READ spill", "Recorded #3: spill: volume 0.5 L"} {
		if !strings.Contains(text, want) {
			t.Errorf("it never said %q", want)
		}
	}
	for _, r := range text {
		if r > 126 || r < 32 && r != '\n' {
			t.Fatalf("%q is not plain: %s", r, text)
		}
	}
	holds(t, shop, "kestrel", "spill: volume 0.5 L")
}

// Two bays are at work on one machine: each keeps its car, its person and its
// place.
func TestWorkTwoBays(t *testing.T) {
	t.Parallel()
	shop := twoCars(t)
	one := sit(t, shop, clock, nil, "work", "kestrel", "--bay", "1")
	two := sit(t, shop, clock, nil, "work", "osprey", "--bay", "2", "--as", "tech-2")
	one.read("leak-down")
	two.read("leak-down")
	for i, value := range []string{"3.00", "2.90", "300"} {
		one.press(value, enter)
		two.press("4"+value[1:], enter)
		if i == 0 {
			one.sees("start 3.00 bar")
			two.sees("start 4.00 bar")
		}
	}
	one.sees("time 300 s")
	two.sees("time 400 s")
	one.powerCut()
	two.powerCut()
	one = sit(t, shop, clock, nil, "work", "kestrel", "--bay", "1")
	two = sit(t, shop, clock, nil, "work", "osprey", "--bay", "2", "--as", "tech-2")
	one.sees("KT 42", "start 3.00 bar", "time 300 s")
	two.sees("OS 7", "start 4.00 bar", "time 400 s")
	one.press(enter)
	two.press(enter)
	one.sees("Recorded #3: leak-down: start 3.00 bar")
	two.sees("Recorded #3: leak-down: start 4.00 bar")
	one.leave()
	two.leave()
	holds(t, shop, "kestrel", "start 3.00 bar")
	holds(t, shop, "osprey", "start 4.00 bar")
	lacks(t, shop, "kestrel", "start 4.00 bar")
}
