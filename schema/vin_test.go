package schema

import (
	"encoding/csv"
	"fmt"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// published reads a file of published check values, without its heading.
func published(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open("../testdata/published/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) < 2 {
		t.Fatalf("%s: no rows", name)
	}
	return rows[1:]
}

// The samples of 49 CFR 565.15(c) and NHTSA's outline for new manufacturers,
// and two that are widely published; each row of the file names its source.
func TestVINPublished(t *testing.T) {
	samples := 0
	for _, row := range published(t, "t13_checks.csv") {
		vin, want, source := row[1], row[4], row[7]
		if vin == "rules" {
			continue
		}
		samples++
		t.Run(vin, func(t *testing.T) {
			sum, _ := vinSum(vin)
			got := CheckVIN(vin)
			if s := fmt.Sprintf("%d | %c", sum, got.CheckDigit); s != want {
				t.Errorf("sum and check digit are %s, want %s (%s)", s, want, source)
			}
			if !got.WellFormed || !got.Matches {
				t.Errorf("got %+v", got)
			}
		})
	}
	if samples < 4 {
		t.Fatalf("%d samples in the file, want 4 or more", samples)
	}
}

// The values and weights of Tables III and IV, as the "rules" row of the file
// lists them.
func TestVINTables(t *testing.T) {
	for _, row := range published(t, "t13_checks.csv") {
		if row[1] != "rules" {
			continue
		}
		weights, letters, ok := strings.Cut(strings.TrimPrefix(row[3], "weights "), "; ")
		if !ok {
			t.Fatalf("cannot read %q", row[3])
		}
		if got := strings.Trim(fmt.Sprint(vinWeights), "[]"); got != weights {
			t.Errorf("weights %s, want %s", got, weights)
		}
		letters, _, _ = strings.Cut(letters, ";")
		pairs := strings.Fields(letters)
		for _, pair := range pairs {
			if place := strings.IndexByte(vinCharacters, pair[0]); place < 0 || fmt.Sprint(place%10) != pair[1:] {
				t.Errorf("%c is at %d, want a place that ends in %s", pair[0], place, pair[1:])
			}
		}
		if len(pairs) != 23 {
			t.Errorf("%d letters in the file, want the alphabet without I, O and Q", len(pairs))
		}
		return
	}
	t.Fatal("no row of rules in the file")
}

func TestVINForm(t *testing.T) {
	const good = "1M8GDM9AXKP042788"
	if got := CheckVIN(good); !got.WellFormed || !got.Matches {
		t.Fatalf("%s: %+v", good, got)
	}
	for _, vin := range []string{
		"", good[:16], good + "8", "IM8GDM9AXKP042788", "1M8GDM9AXKP0427O8", "1M8GDM9AXKPQ42788",
		"1m8gdm9axkp042788", "1M8GDM9AXKP-42788", "1M8GDM9AXKP 42788", "1M8GDM9AXKPÄ2788",
	} {
		if got := CheckVIN(vin); got != (VINVerdict{}) {
			t.Errorf("%q: got %+v, want the empty verdict", vin, got)
		}
	}
	// Made for a country that asks for no check digit: well formed, and no match.
	if got := CheckVIN("1M8GDM9A0KP042788"); !got.WellFormed || got.Matches || got.CheckDigit != 'X' {
		t.Errorf("wrong check digit: got %+v", got)
	}
}

// One character read wrong is always noticed, unless the two count the same:
// the weights are not multiples of 11 and values differ by less than 11.
func TestVINNoticesOneWrongCharacter(t *testing.T) {
	alphabet := strings.ReplaceAll(vinCharacters, "-", "")
	value := func(c byte) int { return strings.IndexByte(vinCharacters, c) % 10 }
	rapid.Check(t, func(t *rapid.T) {
		vin := []byte(rapid.StringOfN(rapid.SampledFrom([]rune(alphabet)), 17, 17, 17).Draw(t, "vin"))
		vin[8] = CheckVIN(string(vin)).CheckDigit
		if !CheckVIN(string(vin)).Matches {
			t.Fatalf("%s does not match its own check digit", vin)
		}
		i := rapid.IntRange(0, 16).Draw(t, "place")
		was, c := vin[i], alphabet[rapid.IntRange(0, len(alphabet)-1).Draw(t, "character")]
		vin[i] = c
		same := value(was) == value(c) && i != 8 || was == c
		if got := CheckVIN(string(vin)).Matches; got != same {
			t.Fatalf("%s with %c for %c at %d: match %v, want %v", vin, c, was, i+1, got, same)
		}
	})
}
