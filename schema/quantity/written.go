package quantity

import (
	"fmt"
	"math"
	"math/big"
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

// Limits of the text of a number: longer or larger is a slip, not a reading.
const (
	maxNumberText = 24
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
		return fmt.Sprintf("%q: %s", e.Text, e.Wrong)
	}
	return fmt.Sprintf("%q: %s; %s", e.Text, e.Wrong, e.Remedy)
}

// Read splits "43.5 psi" or "43.5psi" into number and unit without judging
// the unit. A decimal comma is accepted and kept as a point. A missing unit is
// left empty for [Of] to refuse with the units the quantity could have had.
func Read(text string) (Written, error) {
	trimmed := strings.TrimSpace(text)
	end := numberEnd(trimmed)
	number := strings.Replace(trimmed[:end], ",", ".", 1)
	unit := strings.Join(strings.Fields(trimmed[end:]), " ")
	w := Written{Value: number, Unit: unit}
	if _, err := w.number(); err != nil {
		return Written{}, &Error{Text: text, Wrong: err.Error(), Remedy: "write it like 43.5 psi"}
	}
	return w, nil
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
		if r, ok := referenceWords[strings.ToLower(unit[i+1:])]; ok {
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
// pressure where an absolute one is needed. A unit is never guessed.
func Of[Q Quantity](w Written) (Q, error) {
	var zero Q
	u, sign, err := w.resolve(zero.Dimension())
	if err != nil {
		return zero, err
	}
	n, err := w.number()
	if err != nil {
		return zero, &Error{Text: w.String(), Wrong: err.Error()}
	}
	return Q(sign*n*u.factor + u.offset), nil
}

// Parse reads text such as "43.5 psi" as the quantity Q; see [Read] and [Of].
func Parse[Q Quantity](text string) (Q, error) {
	w, err := Read(text)
	if err != nil {
		return 0, err
	}
	return Of[Q](w)
}

// Resolution is half the last digit as written, the least uncertainty the
// text can carry: 43.5 psi has 0.05 psi. Its unit is SI.
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
	return Q(0.5 * math.Pow(10, -float64(decimals)) * u.factor), nil
}

func (w Written) resolve(d Dimension) (unit, float64, error) {
	if w.Unit == "" {
		return unit{}, 0, &Error{Text: w.Value, Wrong: "a number without a unit is refused", Remedy: couldBe(w.Value, d)}
	}
	symbol, reference := split(w.Unit)
	sign := 1.0
	if signs, isPressure := accepted[d]; isPressure {
		s, ok := signs[reference]
		if !ok {
			return unit{}, 0, &Error{Text: w.String(), Wrong: wrongReference(d, reference), Remedy: couldBe(w.Value, d)}
		}
		sign = s
	} else if reference != ReferenceNone {
		symbol = w.Unit
	}
	u, ok := lookup(d, symbol)
	if !ok {
		return unit{}, 0, &Error{Text: w.String(), Wrong: fmt.Sprintf("%q is not a unit of %s", symbol, d), Remedy: couldBe(w.Value, d)}
	}
	return u, sign, nil
}

func wrongReference(d Dimension, r Reference) string {
	if d == dimAbsolute && r == ReferenceNone {
		return "an absolute pressure must say so"
	}
	if d == dimAbsolute {
		return fmt.Sprintf("%s is not an absolute pressure", r)
	}
	return fmt.Sprintf("%q does not fit a %s", string(r), d)
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
	return "it could be " + strings.Join(options, ", ")
}

// In is the quantity in a unit of its dimension. An unknown unit gives NaN.
func In[Q Quantity](q Q, symbol string) float64 {
	name, _ := split(symbol)
	u, ok := lookup(q.Dimension(), name)
	if !ok {
		return math.NaN()
	}
	return (float64(q) - u.offset) / u.factor
}

// Format prints a quantity in a unit with so many decimals: "43.5 psi".
// Absolute pressures always say "abs".
func Format[Q Quantity](q Q, symbol string, decimals int) string {
	suffix := ""
	if q.Dimension() == dimAbsolute {
		suffix = " abs"
	}
	return fixed(In(q, symbol), decimals) + " " + symbol + suffix
}

// Text prints a quantity in the usual unit of its dimension.
func Text[Q Quantity](q Q) string {
	u := units[q.Dimension()][0]
	return Format(q, u.symbol, u.decimals)
}

// TextIn prints a quantity in a unit with that unit's usual decimals.
func TextIn[Q Quantity](q Q, symbol string) string {
	name, _ := split(symbol)
	u, _ := lookup(q.Dimension(), name)
	return Format(q, name, u.decimals)
}

// Write is the quantity as it would be written in a unit with so many decimals.
func Write[Q Quantity](q Q, symbol string, decimals int) Written {
	unit := symbol
	if q.Dimension() == dimAbsolute {
		unit += " abs"
	}
	return Written{Value: fixed(In(q, symbol), decimals), Unit: unit}
}

// fixed prints without "-0" and rounds half away from zero like a person.
func fixed(f float64, decimals int) string {
	if math.IsNaN(f) || math.IsInf(f, 0) {
		return "?"
	}
	s := new(big.Float).SetFloat64(f).Text('f', decimals)
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-")
	}
	return s
}

// Check reports whether w is a quantity of the dimension; the error is the one
// [Of] would give.
func Check(w Written, d Dimension) error {
	if _, _, err := w.resolve(d); err != nil {
		return err
	}
	if _, err := w.number(); err != nil {
		return &Error{Text: w.String(), Wrong: err.Error()}
	}
	return nil
}
