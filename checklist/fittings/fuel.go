package fittings

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"feedproof/schema/quantity"
)

// Rating is how a seal or a lining stands a fuel.
type Rating string

// Ratings, the worst last.
const (
	Good Rating = "good"
	Fair Rating = "fair"
	Poor Rating = "poor"
	No   Rating = "no"
)

var ratings = []Rating{Good, Fair, Poor, No}

// fuels are the columns of the tables, by the least ethanol that a fuel of the
// column has.
var fuels = []struct {
	column  string
	ethanol quantity.Fraction
}{{"gasoline", 0}, {"e10", 0.05}, {"e85", 0.20}}

// Seal is a compound by the letters of ASTM D1418.
type Seal struct {
	Compound, Name string
	Low            quantity.Temperature // stiff below
	StoreYears     float64              // 0: no limit
	ratings        map[string]Rating
}

var seals = func() []Seal {
	var out []Seal
	for _, r := range table("seals") {
		low, _ := r.number("temp_min_c")
		years, _ := r.number("storage_years")
		s := Seal{r["compound"], r["name"], quantity.Celsius(low), years, map[string]Rating{}}
		for _, fuel := range []string{"gasoline", "e10", "e85", "methanol"} {
			word, _, _ := strings.Cut(r[fuel], " ")
			s.ratings[fuel] = Rating(word)
		}
		out = append(out, s)
	}
	return out
}()

// Compounds lists the compounds that the table knows.
func Compounds() []string {
	var out []string
	for _, s := range seals {
		out = append(out, s.Compound)
	}
	return out
}

// FindSeal finds a compound by its letters, in any case.
func FindSeal(compound string) (Seal, bool) {
	i := slices.IndexFunc(seals, func(s Seal) bool {
		return strings.EqualFold(s.Compound, compound) || slices.ContainsFunc(strings.Split(s.Compound, "/"), func(one string) bool { return strings.EqualFold(one, compound) })
	})
	if i < 0 {
		return Seal{}, false
	}
	return seals[i], true
}

// In is how the compound stands one fuel: gasoline, e10, e85 or methanol.
func (s Seal) In(fuel string) Rating { return s.ratings[strings.ToLower(fuel)] }

// Worst is how the compound stands the worst fuel of a range of ethanol, and
// which that is. Gasoline attacks what E85 spares, and the other way.
func (s Seal) Worst(least, most quantity.Fraction) (Rating, string) {
	worst, by := Good, "gasoline"
	for i, f := range fuels {
		next := quantity.Fraction(2)
		if i+1 < len(fuels) {
			next = fuels[i+1].ethanol
		}
		if most < f.ethanol || least >= next {
			continue
		}
		if r := s.In(f.column); slices.Index(ratings, r) > slices.Index(ratings, worst) {
			worst, by = r, f.column
		}
	}
	return worst, by
}

// Hose is a kind of hose or tube as its standard or the trade has it. The print
// of the maker wins over all of it.
type Hose struct {
	Kind, Words, Standard, Duty string
	Immersion                   string // yes, no, or what decides
	Liner                       string
	Fuels                       map[string]string // gasoline, e10, e85, methanol: yes, no, or who knows
	Working                     quantity.Gauge    // 0: not known
	Conducts                    string            // yes, no, or who knows
	ShelfYears                  float64           // 0: no limit
	Source, Class               string
}

var hoses = func() []Hose {
	var out []Hose
	for _, r := range table("hoses") {
		years, _ := r.number("shelf_years")
		h := Hose{
			Kind: r["hose"], Words: r["words"], Standard: r["standard"], Duty: r["duty"], Immersion: r["immersion"], Liner: r["liner"], Conducts: r["conductive_liner"],
			ShelfYears: years, Working: firstNumber(r["working_bar"]), Source: r["source"], Class: r["class"], Fuels: map[string]string{},
		}
		for _, fuel := range []string{"gasoline", "e10", "e85", "methanol"} {
			h.Fuels[fuel] = r[fuel]
		}
		out = append(out, h)
	}
	return out
}()

var leadingNumber = regexp.MustCompile(`^[<>]?\d+(\.\d+)?`)

// firstNumber is the lower of a range, in bar.
func firstNumber(cell string) quantity.Gauge {
	x, _ := strconv.ParseFloat(strings.TrimLeft(leadingNumber.FindString(cell), "<>"), 64)
	return quantity.Gauge(x * quantity.Bar)
}

// wideBore is the bore above which a low-pressure rubber hose is rated lower,
// and to what: SAE J30 R7 as a test article has it.
const (
	wideBore    = quantity.Length(9.53 * quantity.MM)
	wideWorking = quantity.Gauge(2.4 * quantity.Bar)
)

// WorkingAt is what the standard of the hose allows at that bore; 0: not known.
func (h Hose) WorkingAt(bore quantity.Length) quantity.Gauge {
	if h.Kind == "J30R7" && bore > wideBore {
		return wideWorking
	}
	return h.Working
}

// HoseKinds lists the kinds of hose that the table knows.
func HoseKinds() []string {
	var out []string
	for _, h := range hoses {
		out = append(out, h.Kind)
	}
	return out
}

// FindHose finds a kind of hose: J30R9, as the cover may print it: "SAE J30 R9",
// "30R9".
func FindHose(kind string) (Hose, bool) {
	want := strings.NewReplacer(" ", "", "SAE", "", ".", "").Replace(strings.ToUpper(kind))
	if strings.HasPrefix(want, "30R") {
		want = "J" + want
	}
	i := slices.IndexFunc(hoses, func(h Hose) bool { return strings.EqualFold(h.Kind, want) })
	if i < 0 {
		return Hose{}, false
	}
	return hoses[i], true
}

// StudAmps is what a bulkhead stud may carry when its maker says nothing: a
// screen, 5 A for each mm2 of its stress area as if of copper.
func StudAmps(thread, metal string) (quantity.Current, bool) {
	for _, r := range table("studs") {
		kind, _, _ := strings.Cut(r["metal"], " ")
		if strings.EqualFold(r["thread"], thread) && strings.EqualFold(kind, metal) {
			amps, ok := r.number("screening_a")
			return quantity.Current(amps), ok
		}
	}
	return 0, false
}

// FuseLimit is the largest fuse for a wire of an AWG size: common practice.
func FuseLimit(awg string) (quantity.Current, bool) {
	for _, r := range table("wires") {
		if r["awg"] == awg {
			amps, ok := r.number("fuse_limit_a")
			return quantity.Current(amps), ok
		}
	}
	return 0, false
}

// Efficiency of a filter of a beta ratio: 1 - 1/beta.
func Efficiency(beta float64) quantity.Fraction { return quantity.Fraction(1 - 1/beta) }

// Squeeze of a ring of a section in a groove of a depth: 1 - depth/section.
func Squeeze(section, depth quantity.Length) quantity.Fraction {
	return quantity.Fraction(1 - depth/section)
}

// In is what the table says of the kind in the worst fuel up to that much
// ethanol, and which fuel that is: yes, no, or who knows.
func (h Hose) In(most quantity.Fraction) (word, fuel string) {
	for _, f := range fuels {
		if most < f.ethanol {
			break
		}
		word, fuel = h.Fuels[f.column], f.column
		if word != "yes" {
			return word, fuel
		}
	}
	return word, fuel
}

// Velocity of a flow through a bore: v = Q / A.
func Velocity(q quantity.Flow, bore quantity.Length) quantity.Speed {
	return quantity.Speed(float64(q) / (math.Pi / 4 * float64(bore*bore)))
}

// Head is one velocity head: half the density times the square of the speed.
func Head(v quantity.Speed, density quantity.Density) quantity.Difference {
	return quantity.Difference(0.5 * float64(density) * float64(v*v))
}
