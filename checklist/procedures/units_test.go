package procedures_test

import (
	"encoding/json"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// perSI is how many of the second unit one of the first is. Factors: NIST SP
// 811 (2008), appendix B.8 and B.9, except L/h (US gallon 3.785412 L).
var perSI = map[[2]string]float64{
	{"bar", "psi"}:    1 / 0.06894757,
	{"kPa", "psi"}:    1 / 6.894757,
	{"kPa", "inHg"}:   1 / 3.386389,
	{"kPa", "inH2O"}:  1 / 0.2490889,
	{"mm", "in"}:      1 / 25.4,
	{"m", "ft"}:       1 / 0.3048,
	{"m/s", "ft/s"}:   1 / 0.3048,
	{"km", "mi"}:      1 / 1.609344,
	{"kg", "lb"}:      1 / 0.45359237,
	{"N", "lbf"}:      1 / 4.448222,
	{"N·m", "lbf·in"}: 1 / 0.1129848,
	{"L/h", "gph"}:    1 / 3.785412,
	{"K", "°F"}:       1.8,
	{"°C", "°F"}:      1.8, // plus 32
}

const number = `(\d+(?:\.\d+)?(?:/\d+)?)`

// pair is a quantity in both units: "0.05 bar (0.7 psi)", or a range of them.
var pair = regexp.MustCompile(number + `(?: to ` + number + `)? (bar|kPa|mm|m|m/s|km|kg|N|N·m|L/h|K|°C) \(` + number + `(?: to ` + number + `)? ([A-Za-z°·/0-9]+)\)`)

// TestBothUnitsSayTheSame checks every quantity that the texts give twice. Each
// number may be rounded to its last figure, and no further.
func TestBothUnitsSayTheSame(t *testing.T) {
	text, err := json.Marshal(shipped(t))
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	for _, m := range pair.FindAllStringSubmatch(string(text), -1) {
		factor, ok := perSI[[2]string{m[3], m[6]}]
		if !ok {
			t.Errorf("%q: no factor from %s to %s", m[0], m[3], m[6])
			continue
		}
		for _, ends := range [][2]string{{m[1], m[4]}, {m[2], m[5]}} {
			if ends[0] == "" && ends[1] == "" {
				continue
			}
			found++
			a, ra := figure(t, ends[0])
			b, rb := figure(t, ends[1])
			want := a * factor
			if m[3] == "°C" {
				want += 32
			}
			if math.Abs(b-want) > ra*factor+rb {
				t.Errorf("%q: %s %s is %.4g %s", m[0], ends[0], m[3], want, m[6])
			}
		}
	}
	if found < 100 {
		t.Errorf("only %d pairs found", found)
	}
}

// figure is the number and half of the place it is rounded to: its last figure,
// its tens when it ends in a nought, the step of a fraction.
func figure(t *testing.T, s string) (value, half float64) {
	t.Helper()
	if over, under, ok := strings.Cut(s, "/"); ok {
		a, _ := figure(t, over)
		b, _ := figure(t, under)
		return a / b, 0.5 / b
	}
	value, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatalf("%q: %v", s, err)
	}
	_, decimals, _ := strings.Cut(s, ".")
	if strings.HasSuffix(s, "0") && decimals == "" {
		return value, 5
	}
	return value, 0.5 * math.Pow(10, -float64(len(decimals)))
}
