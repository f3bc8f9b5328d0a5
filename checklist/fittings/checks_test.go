package fittings

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"feedproof/schema/quantity"
)

// check answers one question of testdata/checks.csv.
type check struct {
	asks    *regexp.Regexp
	answers func(m []string) string
}

// TestChecks answers the check values row by row with the functions that rules
// use. Sources: beside each row, spelled out in tables/sources.csv. Rows that ask
// about whole cars are answered by rules and by the bills of materials; they are
// named in elsewhere, and none may be left over.
func TestChecks(t *testing.T) {
	asked := 0
	for _, r := range rows(t, "checks") {
		i := slices.IndexFunc(checks, func(c check) bool { return c.asks.MatchString(r["question"]) })
		if i < 0 {
			if _, known := elsewhere[r["id"]]; !known {
				t.Errorf("%s: nobody answers %q", r["id"], r["question"])
			}
			continue
		}
		asked++
		if got := checks[i].answers(checks[i].asks.FindStringSubmatch(r["question"])); !strings.HasPrefix(r["expected"], got) || got == "" {
			t.Errorf("%s (%s): %s: %q, want %q", r["id"], r["source"], r["question"], got, r["expected"])
		}
	}
	if asked < 60 {
		t.Errorf("only %d rows were asked", asked)
	}
}

// elsewhere are rows that other tests answer, or that ask for a number of which
// no rule makes use.
var elsewhere = map[string]string{
	"FC086": "checklist/rules, TestBores", "FC104": "checklist/rules, TestHoseKinds", "FC112": "checklist/rules, TestFineness", "FC133": "checklist/rules, TestHoseKinds",
	"FC121": "L12 judges by the ampacity that was typed", "FC122": "a relay's own sheet; not typed", "FC134": "bend radius: not typed",
	"FC125": "cmd/internal/cli, TestBills", "FC127": "cmd/internal/cli, TestBills", "FC128": "cmd/internal/cli, TestBills", "FC130": "cmd/internal/cli, TestBills", "FC131": "cmd/internal/cli, TestBills",
}

var checks = []check{
	{regexp.MustCompile(`^37° flare, dash (-\d+): tube OD in mm`), func(m []string) string { od, _ := TubeOD(m[1]); return decimals(od, 3) }},
	{regexp.MustCompile(`^37° flare, dash (-\d+): thread`), func(m []string) string { return threadOf("flare37-m:" + m[1]) }},
	{regexp.MustCompile(`^Can a 45° nut for (\S+) in tube be screwed onto a 37° fitting`), func(m []string) string { return nutOn37(m[1]) }},
	{regexp.MustCompile(`^O-ring boss (-\d+): AS568`), func(m []string) string { return BossRing(m[1]) }},
	{regexp.MustCompile(`^Face seal (-\d+): thread`), func(m []string) string { return threadOf("orfs-m:" + m[1]) }},
	{regexp.MustCompile(`^End (\S+) to end (\S+): verdict`), func(m []string) string { return meeting(m[1], m[2]) }},
	{regexp.MustCompile(`^(.+), entered ([\d.]+) (\S+): plausible`), func(m []string) string { return torqueAnswer(m[1], m[2], m[3]) }},
	{regexp.MustCompile(`^([\d.]+) lbf·in in N·m`), func(m []string) string {
		q, _ := quantity.Of[quantity.Torque](quantity.Written{Value: m[1], Unit: "lbf.in"})
		return decimals(float64(q), 2)
	}},
	{regexp.MustCompile(`^Velocity at (\d+) L/h in a ([\d.]+) mm bore`), func(m []string) string { return decimals(float64(velocity(m[1], m[2])), 2) }},
	{regexp.MustCompile(`^Velocity head at (\d+) L/h, ([\d.]+) mm bore, density (\d+)`), func(m []string) string {
		return decimals(float64(Head(velocity(m[1], m[2]), quantity.Density(float(m[3]))))/quantity.KPa, 2)
	}},
	{regexp.MustCompile(`^Seal (\S+) in (\S+): rating`), func(m []string) string { s, _ := FindSeal(m[1]); return string(s.In(m[2])) }},
	{regexp.MustCompile(`^Storage life of (\S+) seals`), func(m []string) string { s, _ := FindSeal(m[1]); return fmt.Sprintf("%.0f years", s.StoreYears) }},
	{regexp.MustCompile(`^May (\S+) lie in fuel`), func(m []string) string { h, _ := FindHose(m[1]); return h.Immersion }},
	{regexp.MustCompile(`^May (\S+) be used on a (\d+) bar rail`), func(m []string) string { return holds(m[1], m[2]) }},
	{regexp.MustCompile(`^May (\S+) \(2004\) work at ([\d.]+) bar`), func(m []string) string { return holds(m[1], m[2]) }},
	{regexp.MustCompile(`^May (\S+) be used for gasoline`), func(m []string) string {
		h, _ := FindHose(m[1])
		word, _ := h.In(0)
		return word + ": " + strings.TrimSuffix(h.Duty, " only")
	}},
	{regexp.MustCompile(`^Filter beta (\d+): efficiency`), func(m []string) string { return decimals(100*float64(Efficiency(float(m[1]))), 2) }},
	{regexp.MustCompile(`^NPT (\S+) in a Rp (\S+) port: threads per inch`), func(m []string) string {
		a, _ := end0("npt-m:" + m[1]).Thread()
		b, _ := end0("rp-f:" + m[2]).Thread()
		return perInch(a) + " and " + perInch(b)
	}},
	{regexp.MustCompile(`^(M\S+) and (\S+): diameters and pitches`), func(m []string) string {
		a, b := threads[m[1]], threads[m[2]]
		return fmt.Sprintf("%.2f/%.3f and %.2f/%.3f", a.Major, a.Pitch, b.Major, b.Pitch)
	}},
	{regexp.MustCompile(`^(M\S+) port, G (\S+) stud: finding`), func(m []string) string {
		j := Mate(end0("m6149-p:"+m[1]), end0("gwash-m:"+m[2]))
		if j.Rule == "FT05" && j.Engages == "starts" && strings.Contains(j.Why, "tears out") {
			return "FT05: enters by hand, tears out"
		}
		return j.Rule
	}},
	{regexp.MustCompile(`^37° steel tube nut (-\d+) in lbf·in`), func(m []string) string {
		w, _ := Whole(Windows("37 nut " + m[1] + " steel tube"))
		return fmt.Sprintf("%.0f-%.0f", quantity.In(w.TargetLow, "lbf.in"), quantity.In(w.TargetHigh, "lbf.in"))
	}},
	{regexp.MustCompile(`^37° (-\d+): ratio of steel to aluminium`), func(m []string) string {
		s, _ := Whole(Windows("37 nut " + m[1] + " steel tube"))
		a, _ := Whole(Windows("37 nut " + m[1] + " aluminium tube"))
		return decimals(float64(s.TargetLow/a.TargetLow), 2)
	}},
	{regexp.MustCompile(`^(M\d+) (copper) stud at (\d+) A`), func(m []string) string {
		amps, _ := StudAmps(m[1], m[2])
		if float64(amps) >= float(m[3]) {
			return "none (" + decimals(float64(amps), 1) + " A)"
		}
		return "too small"
	}},
	{regexp.MustCompile(`^Section ([\d.]+) mm ring in a groove ([\d.]+) mm deep`), func(m []string) string {
		return decimals(100*float64(Squeeze(quantity.Length(float(m[1])), quantity.Length(float(m[2])))), 1)
	}},
}

func float(text string) float64 { x, _ := strconv.ParseFloat(text, 64); return x }

func decimals(x float64, n int) string {
	scale := math.Pow10(n)
	return strconv.FormatFloat(math.Round(x*scale)/scale, 'f', n, 64)
}

func end0(text string) End { e, _ := Parse(text); return e }

func threadOf(text string) string { t, _ := end0(text).Thread(); return t.Name }

func velocity(litresPerHour, mm string) quantity.Speed {
	return Velocity(quantity.Flow(float(litresPerHour)*quantity.LPerH), quantity.Length(float(mm)*quantity.MM))
}

func nutOn37(inch string) string {
	od, _ := inches(inch)
	dash := fmt.Sprintf("-%.0f", od*16)
	j, thread := Mate(end0("flare45-f:"+inch), end0("flare37-m:"+dash)), threadOf("flare45-f:"+inch)
	if inch == "1/8" { // the tables of 37° ends begin at -3: the thread of -2 is that of the 45° end (F45)
		return "yes (" + thread + ")"
	}
	if j.Engages == "yes" {
		return "yes (" + thread + "), and it leaks"
	}
	return "no, threads differ"
}

func meeting(a, b string) string {
	j := Mate(end0(a), end0(b))
	if j.Verdict == Fits {
		return "fits"
	}
	return fmt.Sprintf("%s (thread engages: %s)", j.Verdict, j.Engages)
}

func holds(hose, bar string) string {
	h, _ := FindHose(hose)
	if float64(h.Working) >= float(bar)*quantity.Bar {
		return "yes"
	}
	return fmt.Sprintf("no: %.1f bar", float64(h.Working)/quantity.Bar)
}

func torqueAnswer(joint, number, unit string) string {
	unit = strings.ReplaceAll(unit, "·", ".")
	q, _ := quantity.Of[quantity.Torque](quantity.Written{Value: number, Unit: unit})
	w, _ := Whole(Windows(joint))
	inside, target := "outside window", "not in target"
	if w.Inside(q) {
		inside = "inside window"
	}
	if w.OnTarget(q) {
		target = "in target"
	}
	return fmt.Sprintf("%.1f N·m, %s, %s; fits as: %s", float64(q), inside, target, strings.ReplaceAll(strings.Join(w.Units(number), ", "), ".", "·"))
}
