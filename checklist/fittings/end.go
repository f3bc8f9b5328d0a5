package fittings

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// End is one end of a part: its kind, such as flare37-m, and its size as that
// kind writes it, such as -8, 1/4, M12x1.5 or 9.49.
type End struct{ Kind, Size string }

// String is the end as it is typed.
func (e End) String() string { return e.Kind + ":" + e.Size }

// endKind is a row of the table of ends.
type endKind struct {
	name, words, gender, seals, part, sealant, sizedAs string
	mates, warned                                      []string
}

var endKinds = func() []endKind {
	var out []endKind
	for _, r := range table("end_types") {
		out = append(out, endKind{r["end"], r["words"], r["gender"], r["seals_on"], r["seal_part"], r["sealant"], r["size_written_as"], words(r["mates_with"]), words(r["never_with"])})
	}
	return out
}()

// Kinds lists the kinds of end by the order of the table.
func Kinds() []string {
	var out []string
	for _, k := range endKinds {
		out = append(out, k.name)
	}
	return out
}

func kindOf(name string) (endKind, bool) {
	i := slices.IndexFunc(endKinds, func(k endKind) bool { return k.name == name })
	if i < 0 {
		return endKind{}, false
	}
	return endKinds[i], true
}

// UnknownKindError is an end of a kind that no table has.
type UnknownKindError struct{ Kind string }

func (e *UnknownKindError) Error() string { return e.Kind + ": is not a kind of end" }

// Parse reads an end such as flare37-m:-8. The kind must be one of [Kinds], and
// the size one that it can have; a kind that is not known is an
// [UnknownKindError].
func Parse(text string) (End, error) {
	kind, size, sized := strings.Cut(strings.TrimSpace(text), ":")
	e := End{strings.ToLower(strings.TrimSpace(kind)), strings.TrimSpace(size)}
	k, known := kindOf(e.Kind)
	switch {
	case !known:
		return e, &UnknownKindError{e.Kind}
	case !sized || e.Size == "":
		return e, fmt.Errorf("%s: has no size; write it as %s, such as %s", text, k.sizedAs, example(k))
	case k.sizes() && !k.has(e.Size):
		return e, fmt.Errorf("%s: %q is no size of %s; write it as %s, such as %s", text, e.Size, k.words, k.sizedAs, example(k))
	}
	return e, nil
}

// examples of sizes, by how a kind writes them.
var sizeExamples = map[string]string{"dash": "-8", "tube OD": "1/2", "M x pitch": "M12x1.5", "inch": "1/8", "G inch": "1/4", "R inch": "1/4", "Rp/Rc inch": "1/4", "mm": "9.49", "mm bore of hose": "8", "mm OD": "8", "mm bore": "8", "M": "M6", "M or inch": "M6", "hole": "M6", "ways": "4"}

func example(k endKind) string {
	size := sizeExamples[k.sizedAs]
	if size == "" {
		size = "SIZE"
	}
	return k.name + ":" + size
}

// sizes reports that sizes of the kind follow a rule; patterns of flanges and
// makers' mouths do not.
func (k endKind) sizes() bool { return sizeExamples[k.sizedAs] != "" }

func (k endKind) has(size string) bool {
	switch k.sizedAs {
	case "dash":
		n, err := strconv.Atoi(size)
		return err == nil && n <= -2 && n >= -32
	case "M x pitch":
		d, p, ok := metric(size)
		return ok && d >= 3 && d <= 60 && p >= 0.35 && p <= 4
	case "mm", "mm bore of hose", "mm OD", "mm bore", "ways":
		x, err := strconv.ParseFloat(size, 64)
		return err == nil && x > 0 && x < 200
	case "tube OD", "inch", "G inch", "R inch", "Rp/Rc inch":
		x, ok := inches(size)
		return ok && x > 0 && x <= 4
	}
	return true
}

// metric reads M12x1.5.
func metric(size string) (diameter, pitch float64, ok bool) {
	d, p, both := strings.Cut(strings.TrimPrefix(strings.ToUpper(size), "M"), "X")
	diameter, err1 := strconv.ParseFloat(d, 64)
	pitch, err2 := strconv.ParseFloat(p, 64)
	return diameter, pitch, both && err1 == nil && err2 == nil && strings.HasPrefix(strings.ToUpper(size), "M")
}

// inches reads 1/2, 1 1/16 or 3.
func inches(size string) (float64, bool) {
	sum := 0.0
	for _, part := range strings.Fields(size) {
		above, below, fraction := strings.Cut(part, "/")
		x, err := strconv.ParseFloat(above, 64)
		if err != nil {
			return 0, false
		}
		if fraction {
			y, err := strconv.ParseFloat(below, 64)
			if err != nil || y == 0 {
				return 0, false
			}
			x /= y
		}
		sum += x
	}
	return sum, sum > 0
}

// family is the kind without its gender: flare37 of flare37-m.
func (e End) family() string {
	if i := strings.LastIndexByte(e.Kind, '-'); i > 0 && len(e.Kind)-i == 2 {
		return e.Kind[:i]
	}
	return e.Kind
}

// Thread is a thread: its outside diameter and pitch in millimetres, and the
// angle of its flanks in degrees. A taper seals on its flanks.
type Thread struct {
	Name         string
	Major, Pitch float64
	Angle        float64
	Taper        bool
}

var threads = func() map[string]Thread {
	out := map[string]Thread{}
	for _, r := range table("threads") {
		major, _ := r.number("major_mm")
		pitch, _ := r.number("pitch_mm")
		angle, _ := r.number("angle_deg")
		out[r["thread"]] = Thread{r["thread"], major, pitch, angle, strings.Contains(r["taper"], "1:16")}
	}
	return out
}()

// sizesOf are the threads of a family by size.
func sizesOf(name, size, thread string) map[string]string {
	out := map[string]string{}
	for _, r := range table(name) {
		out[r[size]] = r[thread]
	}
	return out
}

var threadBySize = map[string]map[string]string{
	"flare37": sizesOf("flare37", "dash", "thread"), "flare45": sizesOf("flare45", "tube_od_in", "thread"),
	"orb": sizesOf("orb", "dash", "thread"), "orfs": sizesOf("face_seal", "dash", "thread"),
}

// Thread is the thread of an end; false where it has none, or the tables do not
// know it.
func (e End) Thread() (Thread, bool) {
	name := threadBySize[e.family()][e.Size]
	switch e.family() {
	case "npt":
		name = "NPT " + e.Size
	case "gwash", "g", "r", "rp":
		name = "G " + e.Size
	case "m6149", "mwash", "mflat", "banjo":
		return metricThread(e.Size)
	}
	t, ok := threads[name]
	if e.Kind == "r-m" {
		t.Taper = true
	}
	return t, ok
}

func metricThread(size string) (Thread, bool) {
	d, p, ok := metric(size)
	return Thread{Name: size, Major: d, Pitch: p, Angle: 60}, ok
}

// Alike reports two threads that start in each other by hand and are not the
// same: outside diameters within 6.5 %, pitches within 20 %.
func Alike(a, b Thread) bool {
	return !Same(a, b) && differ(a.Major, b.Major) <= alikeDiameter && differ(a.Pitch, b.Pitch) <= alikePitch
}

// differ is by what share of the larger two numbers differ.
func differ(a, b float64) float64 { return 1 - min(a, b)/max(a, b) }

// alikeDiameter and alikePitch are how far two threads that start in each other
// may differ: common practice.
const alikeDiameter, alikePitch = 0.065, 0.20

// Same reports one thread.
func Same(a, b Thread) bool {
	const rounding = 1e-3
	return math.Abs(a.Major-b.Major) < rounding && math.Abs(a.Pitch-b.Pitch) < rounding && a.Angle == b.Angle
}

// TubeOD is the outer diameter of a tube of a dash size in millimetres: so many
// sixteenths of an inch.
func TubeOD(dash string) (float64, bool) {
	n, err := strconv.Atoi(dash)
	return float64(-n) / 16 * 25.4, err == nil && n < 0
}

// Electrical reports an end that carries current and no fuel.
func (e End) Electrical() bool {
	return slices.Contains([]string{"stud", "ring", "pin", "socket"}, e.Kind)
}

// CarriesSeal reports an end whose ring or gasket comes with it.
func (e End) CarriesSeal() bool {
	return slices.Contains([]string{"orb-m", "m6149-m", "oring-stem"}, e.Kind)
}

// BossRing is the ring of an O-ring boss of a dash size, by AS568.
func BossRing(dash string) string {
	for _, r := range table("orb") {
		if r["dash"] == dash {
			return r["oring_as568"]
		}
	}
	return ""
}
