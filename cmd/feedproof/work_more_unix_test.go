//go:build unix

package main

import (
	"errors"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// A hold point that may not be closed stays locked and says what is missing; a
// dangerous fact is taken like any other and stops the work in plain words.
func TestWorkSaysStop(t *testing.T) {
	t.Parallel()
	shop := twoCars(t)
	s := sit(t, shop, clock, nil, "work", "kestrel")
	s.sees("2 SOMETHING'S WRONG")
	s.press("2")
	s.choose("drip or a leak")
	s.choose("rail inlet")
	s.sees("NOT SAFE, STOP", "leak at rail inlet", "fuel is getting out", "stop the pump")
	s.press("4")
	s.sees("K20")
	s.press(enter)
	s.leave()
	holds(t, shop, "kestrel", "rail inlet")
}

// Without colour the words say everything, and nothing but places and clearing
// is sent.
func TestWorkWithoutColour(t *testing.T) {
	t.Parallel()
	shop := twoCars(t)
	s := sit(t, shop, clock, []string{"NO_COLOR=1"}, "work", "kestrel")
	s.sees("F U E L C L O S E D")
	s.leave()
	if code := colour.FindString(s.raw.String()); code != "" {
		t.Errorf("colour %q was sent", code)
	}
	coloured := sit(t, shop, clock, nil, "work", "kestrel")
	coloured.sees("F U E L C L O S E D")
	coloured.leave()
	if colour.FindString(coloured.raw.String()) == "" {
		t.Error("with colour, none was sent: the test above could not fail")
	}
}

// colour is a sequence that sets the ink or the ground (ECMA-48, SGR 30 to 37,
// 40 to 47, 90 to 97, 100 to 107).
var colour = regexp.MustCompile(`\x1b\[([0-9]+;)*(3[0-7]|4[0-7]|9[0-7]|10[0-7])[;m]`)

// A sheet that was filled in by hand is typed in later: each entry says from
// which sheet, has the time that stands there, and the photo of the sheet is
// kept.
func TestWorkFromPaper(t *testing.T) {
	t.Parallel()
	shop := twoCars(t)
	photo := filepath.Join(t.TempDir(), "sheet12.png")
	f, err := os.Create(photo)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(png.Encode(f, image.NewGray(image.Rect(0, 0, 40, 60))), f.Close()); err != nil {
		t.Fatal(err)
	}
	s := sit(t, shop, clock, nil, "work", "kestrel", "--from-paper", "12", "--photo", photo)
	s.sees("PAPER SHEET 12")
	s.read("base")
	s.press("3.01", enter)
	s.sees("Time on the sheet?")
	s.press("25:00", enter)
	s.sees("25:00 is no time of day")
	s.press("0814", enter)
	s.sees("base: rail 3.01 bar (43.7 psi) on P1, hose off, late: from paper sheet 12")
	s.press("1")
	s.sees("Time on the sheet?")
	s.press(enter)
	s.sees("step P4 done, from paper sheet 12")
	s.leave()
	holds(t, shop, "kestrel", "from paper sheet 12", "paper sheet 12")
	if all := feedproof(t, shop, "history", "kestrel", "--json"); !strings.Contains(all, `"at": "2026-03-02T08:14:00Z"`) || !strings.Contains(all, `"evidence"`) {
		t.Errorf("the time on the sheet, or its photo, is not there:\n%s", all)
	}
}
