package fittings

import (
	"math"
	"regexp"
	"slices"
	"strings"

	"feedproof/schema/quantity"
)

// Window is what the torque of a joint can be: the range to aim at, and the
// range outside which no source puts it, from half the lowest to 1.3 times the
// highest of all. In newton metres.
type Window struct {
	Joint, Size, Material string
	TargetLow, TargetHigh quantity.Torque
	Low, High             quantity.Torque
	Source, Class         string
}

// Name is the joint with its size and material.
func (w Window) Name() string { return strings.Join([]string{w.Joint, w.Size, w.Material}, ", ") }

var windows = func() []Window {
	var out []Window
	for _, r := range table("torque_windows") {
		w := Window{Joint: r["joint"], Size: r["size"], Material: r["material"], Source: r["source"], Class: r["class"]}
		for to, column := range map[*quantity.Torque]string{&w.TargetLow: "target_lo_nm", &w.TargetHigh: "target_hi_nm", &w.Low: "plausible_lo_nm", &w.High: "plausible_hi_nm"} {
			x, _ := r.number(column)
			*to = quantity.Torque(x)
		}
		out = append(out, w)
	}
	return out
}()

// Windows are the windows of a joint that is called so: "37 hose nut -6,
// aluminium", "flare37-f:-6", "dash 6 nut", "M5 flange". The words name a size,
// and may name the kind of joint and what it is made of; what they leave open
// stays open, and every window that fits counts. Words without a size have none.
func Windows(name string) []Window {
	text := plain(name)
	sizes := sizesIn(text)
	if len(sizes) == 0 {
		return bolted(text)
	}
	fit := slices.DeleteFunc(slices.Clone(windows), func(w Window) bool {
		return !slices.ContainsFunc(sizesIn(plain(w.Size)), func(s string) bool { return slices.Contains(sizes, s) })
	})
	fit = narrowed(fit, text, jointWords, func(w Window) string { return w.Joint })
	return narrowed(fit, text, materialWords, func(w Window) string { return w.Material })
}

// bolted are the windows of the nuts and bolts of a tank opening whose thread is
// not said: any size there is.
func bolted(text string) []Window {
	if !flangeWords.MatchString(text) {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(windows), func(w Window) bool { return !strings.Contains(w.Joint, "flange") && !strings.Contains(w.Joint, "bolt") })
}

// narrowed keeps the windows of what the words name; words that name nothing
// keep all.
func narrowed(fit []Window, text string, of []naming, by func(Window) string) []Window {
	for _, n := range of {
		if !n.said.MatchString(text) {
			continue
		}
		if named := slices.DeleteFunc(slices.Clone(fit), func(w Window) bool { return !strings.Contains(by(w), n.in) }); len(named) > 0 {
			fit = named
		}
	}
	return fit
}

// naming is which words say what stands in a column of the table.
type naming struct {
	said *regexp.Regexp
	in   string
}

var (
	jointWords = []naming{
		{regexp.MustCompile(`flare37|\b37\b|\bjic\b`), "37°"}, {regexp.MustCompile(`flare45|\b45\b`), "45°"},
		{regexp.MustCompile(`hose (nut|end)`), "hose nut"}, {regexp.MustCompile(`\borb\b|boss`), "O-ring boss"},
		{regexp.MustCompile(`orfs|face seal`), "face seal"}, {regexp.MustCompile(`npt`), "NPT"}, {regexp.MustCompile(`banjo`), "banjo"},
		{regexp.MustCompile(`m6149|6149`), "6149"}, {flangeWords, "flange"}, {regexp.MustCompile(`rail bolt|rail screw`), "rail bolt"},
		{regexp.MustCompile(`clamp`), "clamp"}, {regexp.MustCompile(`stud nut|\bstud:`), "stud"},
	}
	materialWords = []naming{
		{regexp.MustCompile(`alu`), "alu"}, {regexp.MustCompile(`\bsteel\b`), "steel"}, {regexp.MustCompile(`brass`), "brass"},
		{regexp.MustCompile(`tube`), "tube"},
	}
	flangeWords = regexp.MustCompile(`flange|hanger`)
	sizeWords   = regexp.MustCompile(`10-32|1/4-28|(?:^|[^\d/])-\d{1,2}\b|\bm\d{1,2}(?:x[\d.]+)?\b|\b\d/\d{1,2}\b`)
	dashWords   = regexp.MustCompile(`\bdash[ -]?(\d{1,2})\b`)
	fineThread  = regexp.MustCompile(`^(m\d+)x[\d.]+$`)
)

// plain is a name in small letters, with a dash size as -6.
func plain(name string) string {
	return dashWords.ReplaceAllString(strings.ToLower(name), "-$1")
}

// sizesIn are the sizes that a name holds; M8x1 is also M8.
func sizesIn(text string) []string {
	var out []string
	for _, s := range sizeWords.FindAllString(text, -1) {
		s = strings.Trim(s, " :,;()")
		out = append(out, s)
		if m := fineThread.FindStringSubmatch(s); m != nil {
			out = append(out, m[1])
		}
	}
	return out
}

// Whole is the window that holds all of them: the widest range that can be, and
// the widest to aim at.
func Whole(of []Window) (w Window, ok bool) {
	for i, one := range of {
		if i == 0 {
			w = one
			continue
		}
		w.Low, w.High = min(w.Low, one.Low), max(w.High, one.High)
		w.TargetLow, w.TargetHigh = min(w.TargetLow, one.TargetLow), max(w.TargetHigh, one.TargetHigh)
	}
	return w, len(of) > 0
}

// Inside reports a torque that the joint can have had.
func (w Window) Inside(t quantity.Torque) bool { return !below(t, w.Low) && !below(w.High, t) }

// OnTarget reports a torque in the range to aim at.
func (w Window) OnTarget(t quantity.Torque) bool {
	return !below(t, w.TargetLow) && !below(w.TargetHigh, t)
}

func below(a, b quantity.Torque) bool {
	const rounding = 0.005 // N.m: the table has two decimals
	return float64(b-a) > rounding
}

// Units lists the units in which a number would be on target for the joint,
// whatever unit was written.
func (w Window) Units(number string) []string {
	var out []string
	for _, unit := range quantity.Symbols(quantity.Torque(0).Dimension()) {
		t, err := quantity.Of[quantity.Torque](quantity.Written{Value: number, Unit: unit})
		if err == nil && t > 0 && !math.IsInf(float64(t), 0) && w.OnTarget(t) {
			out = append(out, unit)
		}
	}
	return out
}

// MakersWindow is the window of a maker's number: half to 1.3 times it, and to
// aim at within a tenth.
func MakersWindow(t quantity.Torque) Window {
	const low, high, aim = 0.5, 1.3, 0.1
	return Window{Joint: "maker's number", TargetLow: t * (1 - aim), TargetHigh: t * (1 + aim), Low: t * low, High: t * high, Source: "maker"}
}
