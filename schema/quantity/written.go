package quantity

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Written is a quantity as somebody wrote it: the text of the number, which
// keeps its resolution, and the unit. It is what a record stores; the SI value
// is computed from it and never stored.
//
// The unit of a pressure may carry a reference: "bar gauge", "kPa abs",
// "inHg vacuum" (below the barometer), "psi diff".
type Written struct {
	Value string `json:"value"`
	Unit  string `json:"unit"`
}

// Limits of what is written: longer or larger is a slip, not a reading.
const (
	maxNumberText = 24
	maxUnitText   = 32
	maxMagnitude  = 1e12
)

// Error says what is wrong with a written quantity and what could have been meant.
type Error struct {
	Text   string // as it was written
	Wrong  string // what is wrong
	Remedy string // what would be accepted
}

func (e *Error) Error() string {
	if e.Remedy == "" {
		return fmt.Sprintf("%.60q: %s", e.Text, e.Wrong)
	}
	return fmt.Sprintf("%.60q: %s; %s", e.Text, e.Wrong, e.Remedy)
}

// Read splits "43.5 psi" or "43.5psi" into number and unit without judging
// the unit. A decimal comma is accepted and kept as a point; where the comma
// could group thousands, as in 1,200, the number is refused. A missing unit is
// left empty for [Of] to refuse with the units the quantity could have had.
//
// Errors are *Error: no plain number at the start, or text too long for a quantity.
func Read(text string) (Written, error) {
	trimmed := strings.TrimSpace(text)
	end := numberEnd(trimmed)
	value, err := withPoint(trimmed[:end])
	w := Written{Value: value, Unit: strings.Join(strings.Fields(trimmed[end:]), " ")}
	if err == nil {
		_, err = w.number()
	}
	if err == nil && len(w.Unit) > maxUnitText {
		err = fmt.Errorf("the unit has %d characters, more than %d", len(w.Unit), maxUnitText)
	}
	if err != nil {
		return Written{}, &Error{Text: text, Wrong: err.Error(), Remedy: "write it like 43.5 psi"}
	}
	return w, nil
}

// withPoint writes a decimal comma as a point.
func withPoint(number string) (string, error) {
	if len(number) > maxNumberText || !strings.Contains(number, ",") {
		return number, nil
	}
	whole, decimals, _ := strings.Cut(number, ",")
	if strings.ContainsAny(whole, ".") || strings.ContainsAny(decimals, ".,") {
		return "", fmt.Errorf("%s has more than one separator, leave out those of thousands", number)
	}
	point := whole + "." + decimals
	figures := strings.TrimLeft(whole, "+-")
	if len(decimals) == 3 && figures != "" && len(figures) <= 3 && figures[0] != '0' {
		return "", fmt.Errorf("%s could be %s or %s, write one of them", number, point, whole+decimals)
	}
	return point, nil
}

// numberEnd is where the number at the start of s ends.
func numberEnd(s string) int {
	i := 0
	for i < len(s) {
		c := s[i]
		switch {
		case c >= '0' && c <= '9', c == '.', c == ',':
		case (c == '-' || c == '+') && i == 0:
		default:
			return i
		}
		i++
	}
	return i
}

// number is the value of the text: plain decimal, no exponent, no thousands
// separators, at most [maxNumberText] characters.
func (w Written) number() (float64, error) {
	if w.Value == "" {
		return 0, fmt.Errorf("there is no number")
	}
	if len(w.Value) > maxNumberText {
		return 0, fmt.Errorf("the number has %d characters, more than %d", len(w.Value), maxNumberText)
	}
	digits := false
	for i, c := range w.Value {
		switch {
		case c >= '0' && c <= '9':
			digits = true
		case c == '.':
		case (c == '-' || c == '+') && i == 0:
		default:
			return 0, fmt.Errorf("%q is not a plain number", w.Value)
		}
	}
	f, err := strconv.ParseFloat(w.Value, 64)
	if err != nil || !digits {
		return 0, fmt.Errorf("%q is not a plain number", w.Value)
	}
	if math.Abs(f) > maxMagnitude {
		return 0, fmt.Errorf("%s is absurdly large", w.Value)
	}
	return f, nil
}

// String is the quantity as written, "43.5 psi".
func (w Written) String() string {
	if w.Unit == "" {
		return w.Value
	}
	return w.Value + " " + w.Unit
}

// IsZero reports whether nothing was written.
func (w Written) IsZero() bool { return w == Written{} }

// Reference is how a pressure unit refers to the barometer.
type Reference string

// References a pressure unit may carry.
const (
	ReferenceNone     Reference = ""
	ReferenceGauge    Reference = "gauge"
	ReferenceAbsolute Reference = "abs"
	ReferenceVacuum   Reference = "vacuum"
	ReferenceDiff     Reference = "diff"
)

var referenceWords = map[string]Reference{
	"gauge": ReferenceGauge, "g": ReferenceGauge, "boost": ReferenceGauge,
	"abs": ReferenceAbsolute, "a": ReferenceAbsolute, "absolute": ReferenceAbsolute,
	"vacuum": ReferenceVacuum, "vac": ReferenceVacuum,
	"diff": ReferenceDiff, "difference": ReferenceDiff,
}

var gluedUnits = map[string]string{"psig": "psi gauge", "psia": "psi abs", "psid": "psi diff", "barg": "bar gauge", "bara": "bar abs"}

// split takes the reference off a unit: "kPa abs" is "kPa" and abs.
func split(unit string) (string, Reference) {
	if whole, ok := gluedUnits[unit]; ok {
		unit = whole
	}
	if i := strings.LastIndexByte(unit, ' '); i >= 0 {
		if r, ok := referenceWords[unit[i+1:]]; ok {
			return unit[:i], r
		}
	}
	return unit, ReferenceNone
}

// Reference is the reference the unit carries, if any.
func (w Written) Reference() Reference {
	_, r := split(w.Unit)
	return r
}

// accepted lists the references each pressure may be written with. An absolute
// pressure must say so: "20" could be inHg of vacuum, psi of boost or kPa.
var accepted = map[Dimension]map[Reference]float64{
	dimGauge:      {ReferenceNone: 1, ReferenceGauge: 1, ReferenceVacuum: -1},
	dimAbsolute:   {ReferenceAbsolute: 1},
	dimDifference: {ReferenceNone: 1, ReferenceDiff: 1},
}

// Of turns a written quantity into its type.
//
// Errors are *Error: no number, no unit, a unit of another quantity, a gauge
// pressure where an absolute one is needed, a vacuum with a minus. A unit is
// never guessed.
func Of[Q Quantity](w Written) (Q, error) {
	var zero Q
	u, n, err := w.resolve(zero.Dimension())
	if err != nil {
		return zero, err
	}
	return Q(n*u.factor + u.offset), nil
}

// Parse reads text such as "43.5 psi" as the quantity Q; see [Read] and [Of].
func Parse[Q Quantity](text string) (Q, error) {
	w, err := Read(text)
	if err != nil {
		return 0, err
	}
	return Of[Q](w)
}

// Check says what is wrong with a written quantity of a dimension that is known
// only when the program runs; see [Of].
func Check(w Written, d Dimension) error {
	_, _, err := w.resolve(d)
	return err
}

// Resolution is half the last digit as written, the least uncertainty the
// text can carry: 43.5 psi has 0.05 psi. It is a width in SI, so that of a
// temperature is in kelvin and has no zero point. Errors are those of [Of].
func Resolution[Q Quantity](w Written) (Q, error) {
	var zero Q
	u, _, err := w.resolve(zero.Dimension())
	if err != nil {
		return zero, err
	}
	decimals := 0
	if i := strings.IndexByte(w.Value, '.'); i >= 0 {
		decimals = len(w.Value) - i - 1
	}
	return Q(0.5 * math.Pow10(-decimals) * u.factor), nil
}

// resolve is the unit of w and its number, negative for a vacuum.
func (w Written) resolve(d Dimension) (unit, float64, error) {
	n, err := w.number()
	if err != nil {
		return unit{}, 0, &Error{Text: w.String(), Wrong: err.Error()}
	}
	if w.Unit == "" {
		return unit{}, 0, &Error{Text: w.Value, Wrong: "a number without a unit is refused", Remedy: couldBe(w.Value, d)}
	}
	symbol, reference := split(w.Unit)
	sign := 1.0
	if signs, isPressure := accepted[d]; isPressure {
		s, ok := signs[reference]
		if !ok {
			return unit{}, 0, w.wrongReference(d, reference)
		}
		sign = s
	} else if reference != ReferenceNone {
		symbol = w.Unit
	}
	u, ok := lookup(d, symbol)
	if !ok {
		return unit{}, 0, &Error{Text: w.String(), Wrong: fmt.Sprintf("%.40q is not a unit of %s", symbol, d), Remedy: couldBe(w.Value, d)}
	}
	if sign < 0 && strings.HasPrefix(w.Value, "-") {
		return unit{}, 0, &Error{Text: w.String(), Wrong: "a vacuum is written without a minus", Remedy: "write " + w.Value[1:] + " " + w.Unit + ", or the gauge pressure with its minus"}
	}
	return u, sign * n, nil
}

func (w Written) wrongReference(d Dimension, r Reference) error {
	e := &Error{Text: w.String(), Wrong: fmt.Sprintf("%q does not fit a %s", string(r), d)}
	switch {
	case d == dimAbsolute && r == ReferenceNone:
		e.Wrong, e.Remedy = "an absolute pressure must say so", couldBe(w.Value, d)
	case d == dimAbsolute:
		e.Wrong = fmt.Sprintf("%q is not an absolute pressure", string(r))
		e.Remedy = "add the barometer at that moment and write abs"
	case d == dimGauge && r == ReferenceAbsolute:
		e.Remedy = "take off the barometer at that moment and write gauge"
	}
	return e
}

// couldBe names what the bare number could have been: "it could be 43.5 bar, ...".
func couldBe(value string, d Dimension) string {
	suffix := ""
	if d == dimAbsolute {
		suffix = " abs"
	}
	var options []string
	for _, s := range Symbols(d) {
		options = append(options, value+" "+s+suffix)
	}
	if d == dimGauge && !strings.HasPrefix(value, "-") {
		options = append(options, value+" inHg vacuum")
	}
	return "it could be " + strings.Join(options, ", ")
}

// In is the number of a quantity in a unit of its dimension. A pressure unit
// may carry its reference: a gauge pressure in "inHg vacuum" is how far it lies
// below the barometer. A unit that does not fit gives NaN.
func In[Q Quantity](q Q, spelling string) float64 {
	d := q.Dimension()
	u, sign, err := Written{Value: "1", Unit: complete(d, spelling)}.resolve(d)
	if err != nil {
		return math.NaN()
	}
	return sign * (float64(q) - u.offset) / u.factor
}

// complete adds "abs" to the unit of an absolute pressure that lacks it.
func complete(d Dimension, spelling string) string {
	if _, r := split(spelling); d == dimAbsolute && spelling != "" && r == ReferenceNone {
		return spelling + " abs"
	}
	return spelling
}

// Write is the quantity as it would be written in a unit with so many
// decimals. Absolute pressures always say "abs". In a unit that does not fit
// the number is "?".
func Write[Q Quantity](q Q, spelling string, decimals int) Written {
	return Written{Value: fixed(In(q, spelling), decimals), Unit: complete(q.Dimension(), spelling)}
}

// Format prints a quantity in a unit with so many decimals: "43.5 psi"; see [Write].
func Format[Q Quantity](q Q, spelling string, decimals int) string {
	return Write(q, spelling, decimals).String()
}

// Text prints a quantity in the usual unit of its dimension.
func Text[Q Quantity](q Q) string {
	return TextIn(q, units[q.Dimension()][0].symbol)
}

// TextIn prints a quantity in a unit with that unit's usual decimals; see [Write].
func TextIn[Q Quantity](q Q, spelling string) string {
	symbol, _ := split(spelling)
	u, _ := lookup(q.Dimension(), symbol)
	return Format(q, spelling, u.decimals)
}

// exactFigures is how many decimal figures a float64 surely holds.
const exactFigures = 15

// fixed prints without "-0" and rounds half away from zero like a person: what
// conversions leave behind the 15th figure does not decide.
func fixed(f float64, decimals int) string {
	scale := math.Pow10(decimals)
	if math.IsNaN(f*scale) || math.IsInf(f*scale, 0) {
		return "?"
	}
	clean, err := strconv.ParseFloat(strconv.FormatFloat(f*scale, 'g', exactFigures, 64), 64)
	if err != nil {
		return "?"
	}
	rounded := math.Round(clean)
	if rounded == 0 {
		rounded = 0 // not -0
	}
	return strconv.FormatFloat(rounded/scale, 'f', decimals, 64)
}
