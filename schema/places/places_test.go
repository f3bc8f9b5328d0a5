package places

import (
	"encoding/csv"
	"errors"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"feedproof/schema"
)

// TestPublishedPlaces: each place of a published table of joints is known, and
// stands in the same part of the circuit. Source: testdata/places.csv, whose
// rows name their standards.
func TestPublishedPlaces(t *testing.T) {
	f, err := os.Open("testdata/places.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	read := csv.NewReader(f)
	read.Comment = '#'
	rows, err := read.ReadAll()
	if err != nil || len(rows) < 40 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	sides := map[string][]Side{"feed": {Feed}, "return": {Return, Feed, Lift}, "suction": {Suction, Tank, Feed, Lift}, "low feed": {Lift}, "vent": {Vent}, "tank": {Tank, Vent}, "overflow": {Return, Lift}, "-": {Dry, Feed}, "no": {Dry}}
	for _, row := range rows[1:] {
		p, _, err := Find(row[0])
		if err != nil {
			t.Errorf("%s: %v", row[0], err)
			continue
		}
		if wet := row[4] != "no"; wet && !p.Wet() && !strings.HasPrefix(row[4], "gas") {
			t.Errorf("%s: fuel wets it, and the table says it is dry", row[0])
		}
		if allowed, known := sides[row[6]]; known && !slices.Contains(allowed, p.Side) {
			t.Errorf("%s %s: stands under %q, the table says %q", row[0], row[1], row[6], p.Side)
		}
	}
}

// TestEveryWordIsOnePlace: each word finds its place, however it is written, and
// none stands for two.
func TestEveryWordIsOnePlace(t *testing.T) {
	for _, p := range Table {
		for _, w := range append([]string{p.Name}, p.Words...) {
			for _, typed := range []string{w, strings.ToUpper(w), strings.ReplaceAll(w, " ", "-"), strings.ReplaceAll(w, "-", " "), "  " + w + " ", w + " 2", w + "2", w + " left"} {
				got, name, err := Find(typed)
				if err != nil || got.Name != p.Name || !strings.HasPrefix(name, p.Name) {
					t.Errorf("%q is %s (%s), %v; want %s", typed, got.Name, name, err, p.Name)
				}
			}
		}
	}
	for _, j := range joints {
		for _, w := range append([]string{j.name}, j.words...) {
			if got, err := FindJoint(w); err != nil || got != j.name {
				t.Errorf("joint %q is %s, %v; want %s", w, got, err, j.name)
			}
		}
	}
}

// TestASlipIsNeverSilentlyOutside: a word with one or two letters wrong is either
// refused with its place among the nearest, or is a place: nothing is taken that
// no rule knows.
func TestASlipIsNeverSilentlyOutside(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	words := placeWords()
	refused, offered := 0, 0
	for range 400 {
		w := words[r.IntN(len(words))]
		p, _, _ := Find(w)
		slip := w
		for range 1 + r.IntN(2) {
			slip = slipped(r, slip)
		}
		got, name, err := Find(slip)
		var unknown *UnknownError
		switch {
		case errors.As(err, &unknown):
			refused++
			if slices.Contains(unknown.Nearest, p.Name) {
				offered++
			}
		case err != nil || got.Name == "" || !strings.HasPrefix(name, got.Name):
			t.Errorf("%q (a slip of %q) is %q, %v", slip, w, name, err)
		}
	}
	if refused < 200 || offered < refused*8/10 {
		t.Errorf("%d refused, the right place offered for %d", refused, offered)
	}
}

func slipped(r *rand.Rand, w string) string {
	letters := []rune(w)
	i := r.IntN(len(letters))
	c := rune('a' + r.IntN(26))
	switch r.IntN(3) {
	case 0:
		return string(slices.Insert(letters, i, c))
	case 1:
		letters[i] = c
		return string(letters)
	}
	if len(letters) < 3 {
		return w + string(c)
	}
	return string(slices.Delete(letters, i, i+1))
}

// TestWhatWasTypedOutsideEveryRule: words that once put a part outside the rules.
func TestWhatWasTypedOutsideEveryRule(t *testing.T) {
	for typed, want := range map[string]string{
		"fuel pump": "pump", "in-tank pump": "pump", "pumps": "pump", "pump2": "pump 2", "injector": "injectors", "In-Tank Hose": "in-tank hose",
		"in tank hose": "in-tank hose", "regulator O-ring": "regulator seal", "O-ring 3": "injector seals 3", "feed hose": "feed line", "rails": "rail",
		"fuel filter": "filter", "return": "return line", "ethanol sensor": "ethanol sensor", "y-block": "y-block", "Benzinpumpe": "pump", "Rücklauf": "return line",
	} {
		if _, got, err := Find(typed); err != nil || got != want {
			t.Errorf("%q is %q, %v; want %q", typed, got, err, want)
		}
	}
	var unknown *UnknownError
	if _, _, err := Find("pmp"); !errors.As(err, &unknown) || !slices.Contains(unknown.Nearest, "pump") {
		t.Errorf("pmp: %v", err)
	}
	if _, err := FindJoint("hangr"); !errors.As(err, &unknown) || !slices.Contains(unknown.Nearest, "hanger flange") {
		t.Errorf("hangr: %v", err)
	}
	pump, _ := Of("pump")
	if pump.Takes(schema.PartInjector) || !pump.Takes(schema.PartPump) || !slices.Contains(Taking(schema.PartInjector), "injectors") {
		t.Error("an injector goes in as a pump")
	}
}

// TestShows: what a dry joint says of others. Source: common practice.
func TestShows(t *testing.T) {
	for _, test := range []struct {
		dry    string
		opened string
		want   bool
	}{
		{"rail inlet", "feed at the rail", true}, {"hanger", "tank flange", true}, {"rail", "rail inlet", true}, {"rail inlet", "rail", false},
		{"rail inlet,rail outlet", "rail", true}, {"hanger flange", "pump", true}, {"hanger flange", "feed line", false}, {"filler", "hanger flange", false},
		{"regulator inlet", "regulator return", false}, {"bulkhead left", "bulkhead right", false}, {"bulkhead left", "bulkhead left", true}, {"", "pump", false},
	} {
		var dry []string
		for name := range strings.SplitSeq(test.dry, ",") {
			dry = append(dry, Joint(name))
		}
		if Shows(dry, Joint(test.opened)) != test.want {
			t.Errorf("%s dry shows %s: %v", test.dry, test.opened, !test.want)
		}
	}
}
