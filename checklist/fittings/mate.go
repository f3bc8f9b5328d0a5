package fittings

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Verdict is how two ends meet.
type Verdict string

// Verdicts of two ends.
const (
	Fits     Verdict = "fits"
	Blocked  Verdict = "BLOCK"     // it goes together and does not seal, or tears out
	Size     Verdict = "size"      // one family, two sizes
	Gender   Verdict = "gender"    // two studs, or two nuts
	NoThread Verdict = "no thread" // nothing joins them
)

// Joint says how two ends meet, and why.
type Joint struct {
	Verdict Verdict
	Engages string // yes, no, starts, or - where there is no thread
	Rule    string // of the trade's table of fittings, FT01 to FT41
	Why     string
	Do      string
}

// boreSlack is how far the bore of a hose and its stem may differ, in
// millimetres: common practice.
const boreSlack = 0.5

// Mate says how two ends meet. The order does not matter.
func Mate(a, b End) Joint {
	ka, _ := kindOf(a.Kind)
	kb, _ := kindOf(b.Kind)
	paired := slices.Contains(ka.mates, b.Kind) && slices.Contains(kb.mates, a.Kind)
	switch {
	case paired && a.sizeFits(b):
		return Joint{Fits, engages(a, b), "", "", ""}
	case paired:
		return otherSize(a, b)
	case a.family() == b.family() && ka.gender == kb.gender && threaded(a) && a.Kind != "banjo":
		return Joint{Gender, "no", "FT02", fmt.Sprintf("two ends %s and %s: nothing joins them", a, b), "a coupler between them"}
	}
	return strangers(a, b, ka, kb)
}

func threaded(e End) bool { _, ok := e.Thread(); return ok }

func (e End) sizeFits(other End) bool {
	if e.Kind == "hose" || other.Kind == "hose" {
		x, err1 := strconv.ParseFloat(e.Size, 64)
		y, err2 := strconv.ParseFloat(other.Size, 64)
		return err1 == nil && err2 == nil && math.Abs(x-y) <= boreSlack
	}
	return strings.EqualFold(e.Size, other.Size)
}

func otherSize(a, b End) Joint {
	ta, ok1 := a.Thread()
	tb, ok2 := b.Thread()
	why := fmt.Sprintf("%s against %s", a, b)
	switch {
	case ok1 && ok2 && Alike(ta, tb):
		return Joint{Blocked, "starts", "FT05", fmt.Sprintf("%s: %s starts in %s by hand and tears out later", why, ta.Name, tb.Name), gauge}
	case ok1 && ok2:
		return Joint{Size, "no", "FT08", fmt.Sprintf("%s: %s against %s", why, ta.Name, tb.Name), "a reducer, or the right part"}
	case a.Kind == "hose" || b.Kind == "hose":
		return Joint{Size, "-", "FT27", why + ": the hose does not fit the stem", "the right hose or stem"}
	case a.family() == b.family() || strings.HasPrefix(a.Kind, "oring"):
		return Joint{Blocked, "-", "FT08", why + ": it may go together and does not seal", "the right size"}
	}
	return Joint{Size, "no", "FT08", why, "the right size"}
}

const gauge = "stop at two turns by hand; check both with a thread gauge"

// strangers are ends of which neither is made for the other.
func strangers(a, b End, ka, kb endKind) Joint {
	ta, ok1 := a.Thread()
	tb, ok2 := b.Thread()
	j := Joint{Verdict: NoThread, Engages: apart(a, b), Rule: "FT09", Why: fmt.Sprintf("nothing joins %s and %s: an adapter is missing", a, b), Do: fmt.Sprintf("an adapter %s by %s", mateOf(ka), mateOf(kb))}
	if pair(a, b, "flare37", "flare45") {
		j.Rule, j.Why, j.Do = "FT01", "37° and 45° seats meet: "+a.String()+" and "+b.String()+" seal on one thin line and leak hot", "make both sides 37°; do not tighten more"
	}
	switch {
	case ok1 && ok2 && ka.gender == kb.gender && a.Kind != "banjo" && b.Kind != "banjo":
		return j
	case ok1 && ok2 && (Same(ta, tb) || Alike(ta, tb) && j.Rule != "FT01"):
		return engaged(j, a, b, ta, tb)
	case ka.never(b) || kb.never(a):
		j.Verdict, j.Engages, j.Rule, j.Why, j.Do = Blocked, "-", "FT04", fmt.Sprintf("%s on %s goes together and does not hold", a, b), "ends that are made for each other"
	}
	return j
}

// never reports a pair without threads that the table warns of: a hose on a tube
// without a bead, a seat inside.
func (k endKind) never(other End) bool {
	return (other.Kind == "hose" || strings.HasPrefix(k.name, "invflare")) && slices.ContainsFunc(k.warned, func(name string) bool { return End{Kind: name}.family() == other.family() })
}

// engaged are strangers whose threads go together or start.
func engaged(j Joint, a, b End, ta, tb Thread) Joint {
	j.Verdict, j.Engages = Blocked, "yes"
	alike := !Same(ta, tb)
	if alike && (ta.Pitch != tb.Pitch || !pipes(a, b)) {
		j.Engages = "starts"
	}
	if j.Rule == "FT01" {
		return j
	}
	switch {
	case pipes(a, b) && (a.family() == "npt") != (b.family() == "npt"):
		j.Rule, j.Why, j.Do = "FT06", fmt.Sprintf("%s against %s: 60° against 55°, %s and %s per inch", a, b, perInch(ta), perInch(tb)), "an adapter; paste does not cure it"
	case a.Kind == "npt-m" || a.Kind == "r-m" || b.Kind == "npt-m" || b.Kind == "r-m":
		j.Rule, j.Why, j.Do = "FT07", fmt.Sprintf("a taper stud in another port, %s and %s: the taper splits it", a, b), "a stud of the port's own kind"
	case alike:
		j.Rule, j.Why, j.Do = "FT05", fmt.Sprintf("%s and %s: %s starts in %s by hand and tears out later", a, b, ta.Name, tb.Name), gauge
	default:
		j.Rule, j.Why, j.Do = "FT03", fmt.Sprintf("%s and %s share the thread %s: it goes in, and nothing seals", a, b, ta.Name), "an adapter with both kinds of end"
	}
	return j
}

func engages(a, b End) string {
	if threaded(a) && threaded(b) {
		return "yes"
	}
	return "-"
}

// apart is whether threads of two ends engage that do not: there may be none.
func apart(a, b End) string {
	for _, e := range []End{a, b} {
		if !threaded(e) && e.family() != "cone24" {
			return "-"
		}
	}
	return "no"
}

// pair reports that one end is of each family.
func pair(a, b End, x, y string) bool {
	return a.family() == x && b.family() == y || a.family() == y && b.family() == x
}

func pipes(a, b End) bool {
	pipe := []string{"npt", "gwash", "g", "r", "rp"}
	return slices.Contains(pipe, a.family()) && slices.Contains(pipe, b.family())
}

// perInch is how many turns of a thread stand on an inch.
func perInch(t Thread) string { return strconv.FormatFloat(math.Round(25.4/t.Pitch), 'f', -1, 64) }

func mateOf(k endKind) string {
	if len(k.mates) == 0 {
		return k.name
	}
	return k.mates[0]
}
