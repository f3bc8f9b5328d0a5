package cli

import (
	"fmt"
	"strings"
	"time"

	"feedproof/cmd/internal/desk"
	"feedproof/schema"
	"feedproof/schema/quantity"

	"github.com/spf13/pflag"
)

// noNumber reads the words for a value that is no number: unknown,
// not-measured:why, na:why.
func noNumber(text string) (word, why string, ok bool) {
	head, why, _ := strings.Cut(text, ":")
	switch desk.Fold(head) {
	case "unknown", "?":
		word = schema.Unknown
	case "notmeasured":
		word = schema.NotMeasured
	case "na", "n/a", "notapplicable":
		word = schema.NotApplicable
	default:
		return "", "", false
	}
	return word, strings.TrimSpace(why), true
}

// parseQ reads a quantity with its unit, or why there is none.
func parseQ[T quantity.Quantity](text string) (schema.Q[T], error) {
	if word, why, ok := noNumber(text); ok {
		return schema.Q[T]{State: word, Why: why}, nil
	}
	w, err := quantity.Read(text)
	if err != nil {
		return schema.Q[T]{}, err
	}
	_, err = quantity.Of[T](w)
	return schema.Write[T](w), err
}

// quantityFlag is a flag that takes a quantity with its unit.
type quantityFlag[T quantity.Quantity] struct{ q *schema.Q[T] }

func (f quantityFlag[T]) String() string {
	if f.q == nil {
		return ""
	}
	if f.q.Why != "" {
		return f.q.State + ":" + f.q.Why
	}
	return f.q.String()
}

func (f quantityFlag[T]) Type() string {
	var zero T
	return strings.ReplaceAll(string(zero.Dimension()), " ", "-")
}

func (f quantityFlag[T]) Set(text string) error {
	q, err := parseQ[T](text)
	if err == nil {
		*f.q = q
	}
	return err
}

// Add moves the quantity by a written difference, "0.5 bar" or "-0.3 m"; in
// per cent by a share of itself, and a share by points.
func (f quantityFlag[T]) Add(text string) error {
	from, err := f.q.SI()
	if err != nil {
		return fmt.Errorf("the plan has no number to add to: %w", err)
	}
	by, err := quantity.Read(text)
	if err != nil {
		return err
	}
	step, err := quantity.Width[T](by)
	if share, notShare := quantity.Of[quantity.Fraction](by); err != nil && notShare == nil {
		step, err = from*T(share), nil
	}
	if err != nil {
		return err
	}
	*f.q = schema.Write[T](quantity.Write(from+step, f.q.Unit, moreDecimals))
	return nil
}

// moreDecimals keeps a sum finer than anything that is written.
const moreDecimals = 6

// measure adds a quantity flag.
func measure[T quantity.Quantity](f *pflag.FlagSet, q *schema.Q[T], name, usage string) {
	f.Var(quantityFlag[T]{q}, name, usage)
}

// word is a flag that takes one of a few words.
type word[T ~string] struct {
	to     *T
	values []string
}

// choice adds a flag that takes one of the words of its type.
func choice[T interface {
	~string
	Values() []string
}](f *pflag.FlagSet, to *T, name, usage string) {
	values := (*to).Values()
	f.Var(word[T]{to, values}, name, usage+": "+strings.Join(values, ", "))
}

func (w word[T]) String() string {
	if w.to == nil {
		return ""
	}
	return string(*w.to)
}

func (w word[T]) Type() string { return "word" }

func (w word[T]) Set(text string) error {
	value, err := oneOf(text, w.values)
	if err == nil {
		*w.to = T(value)
	}
	return err
}

// oneOf finds the word that was meant, by its start if need be.
func oneOf(text string, values []string) (string, error) {
	var starts []string
	for _, v := range values {
		if desk.Fold(v) == desk.Fold(text) {
			return v, nil
		}
		if text != "" && strings.HasPrefix(desk.Fold(v), desk.Fold(text)) {
			starts = append(starts, v)
		}
	}
	if len(starts) == 1 {
		return starts[0], nil
	}
	return "", fmt.Errorf("%q is not one of %s", text, strings.Join(values, ", "))
}

// moment reads --at: RFC 3339, or hours and minutes of today. Empty is now.
func moment(now time.Time, at string) (time.Time, error) {
	if at == "" {
		return now, nil
	}
	if t, err := time.Parse(time.RFC3339, at); err == nil {
		return t, nil
	}
	for _, layout := range []string{"2006-01-02 15:04", "2006-01-02T15:04", "2006-01-02 15:04:05", "2006-01-02T15:04:05"} {
		if t, err := time.ParseInLocation(layout, at, now.Location()); err == nil {
			return t, nil
		}
	}
	if t, err := time.ParseInLocation("15:04", at, now.Location()); err == nil {
		return time.Date(now.Year(), now.Month(), now.Day(), t.Hour(), t.Minute(), 0, 0, now.Location()), nil
	}
	return now, wrong("--at 09:14 (today), --at "+desk.Quoted(now.Format("2006-01-02 15:04"))+" or --at "+now.Format(time.RFC3339), "--at: %q is not a time", at)
}

// day reads a date, or takes today.
func day(now time.Time, flag, text string) (string, error) {
	if text == "" {
		return now.Format(time.DateOnly), nil
	}
	if _, err := time.Parse(time.DateOnly, text); err != nil {
		return "", wrong("--"+flag+" "+now.Format(time.DateOnly), "--%s: %q is not a date", flag, text)
	}
	return text, nil
}
