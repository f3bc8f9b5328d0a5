package audit

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
)

const (
	sameCars     = 5    // cars in a row from which a value is looked at; source: common practice
	sameDigits   = 3    // digits that such a value has at least; source: common practice
	othersRead   = 20   // readings of others below which nothing can be told; common practice for a share
	byChanceMost = 0.01 // rows that chance alone may make in a whole shop
)

var _ = register(Question{
	ID: "Q22", Name: "same-values", Title: "Who wrote one value to the last digit on car after car, where others read different ones?",
	How: fmt.Sprintf("Values of %d digits or more that name a gauge are put in order of time: each person's of one test and value, apart by gauge, unit and number of decimals. "+
		"A row is a value that stands on %d cars or more, one after another, with no other between. "+
		"How often chance would do that is told from what everybody else read of the same on the same gauge: their share of that value (one added to those, two to all), "+
		"to the power of the cars, times all readings that were looked at. Listed is what chance would make at most %g times in a shop of this size.", sameDigits, sameCars, byChanceMost),
	Needs: fmt.Sprintf("A row is a reason to ask, and proves nothing about a person: cars of one model read alike, and whoever works on those alone stands out honestly. "+
		"What everybody reads, such as a base of 3.00 bar, is not listed however often it stands. Where others read fewer than %d, nothing can be told; "+
		"values that were made up a little different each time do not show. `X03` looks at the last digits within one car.", othersRead),
}, askSameValues)

// readKind is one quantity as it is read: test, value, unit, gauge and number
// of decimals, as a line of valueFacts begins.
type readKind string

func (k readKind) parts() (test, name, unit, gauge string) {
	f := strings.Split(string(k), unitMark)
	return f[0], f[1], f[2], f[3]
}

// Marks between the parts of a line of valueFacts.
const (
	unitMark = "\x1f"
	kindMark = "\x1e"
)

// readValue is one value that somebody read.
type readValue struct {
	record, by, value string
	at                int64 // Unix time
}

func (v readValue) day() string { return date(time.Unix(v.at, 0)) }

func askSameValues(a *asking) error {
	a.columns("by: who", "quantity: test and value", "value: as it was written", "gauge: which", "cars: one after another", "first: date", "last: date",
		"others: how many values others read of it on that gauge", "others_same_percent: of those, that value", "by_chance: how often chance would do this in a shop of this size")
	kinds := map[readKind][]readValue{}
	err := tableValues.read(a, func(record string, facts []byte) error {
		for line := range strings.Lines(string(facts)) {
			kind, v, err := readLine(record, strings.TrimSuffix(line, "\n"))
			if err != nil {
				return fmt.Errorf("%s: %w", record, err)
			}
			kinds[kind] = append(kinds[kind], v)
		}
		return nil
	})
	if err != nil {
		return err
	}
	looked := 0
	for _, values := range kinds {
		looked += len(values)
		slices.SortFunc(values, func(x, y readValue) int {
			return cmp.Or(cmp.Compare(x.at, y.at), strings.Compare(x.record, y.record), strings.Compare(x.value, y.value))
		})
	}
	for kind, values := range kinds {
		if err := a.sameValues(kind, values, looked); err != nil {
			return err
		}
	}
	a.sortRows(0, 5, 1)
	return nil
}

// sameValues adds the rows of one kind of reading.
func (a *asking) sameValues(kind readKind, values []readValue, looked int) error {
	test, name, unit, gauge := kind.parts()
	all, persons := map[string]int{}, map[string][]readValue{}
	for _, v := range values {
		all[v.value]++
		persons[v.by] = append(persons[v.by], v)
	}
	for _, by := range slices.Sorted(maps.Keys(persons)) {
		own := persons[by]
		others := len(values) - len(own)
		if others < othersRead {
			continue
		}
		mine := map[string]int{}
		for _, v := range own {
			mine[v.value]++
		}
		for _, run := range runs(own) {
			value := run[0].value
			alike := all[value] - mine[value]
			cars := carsOf(run)
			chance := float64(looked) * math.Pow(float64(alike+1)/float64(others+2), float64(len(cars)))
			if len(cars) < sameCars || chance > byChanceMost {
				continue
			}
			entries, err := a.readingsOf(kind, run)
			if err != nil {
				return err
			}
			a.add(schema.VehicleRecord, "", entries, by, test+" "+name, value+" "+unit, gauge, len(cars), run[0].day(), run[len(run)-1].day(),
				others, rounded(100*float64(alike)/float64(others), 1), significant(chance))
		}
	}
	return nil
}

// runs parts a person's values where another value comes.
func runs(values []readValue) [][]readValue {
	var all [][]readValue
	for i, v := range values {
		if i == 0 || values[i-1].value != v.value {
			all = append(all, nil)
		}
		all[len(all)-1] = append(all[len(all)-1], v)
	}
	return all
}

func carsOf(values []readValue) map[string]bool {
	cars := map[string]bool{}
	for _, v := range values {
		cars[v.record] = true
	}
	return cars
}

// readingsOf are the entries in which values stand.
func (a *asking) readingsOf(kind readKind, values []readValue) ([]string, error) {
	test, name, _, _ := kind.parts()
	var entries []string
	for _, v := range values {
		r, err := a.Record(schema.VehicleRecord, v.record)
		if err != nil {
			return nil, err
		}
		for _, e := range state.Written(r) {
			d, err := schema.Into[schema.ReadingData](e)
			if err != nil || d.Test != test || e.By != v.by || e.At.Unix() != v.at {
				continue
			}
			if slices.ContainsFunc(d.Values, func(x schema.Value) bool { return x.Name == name && x.Value == v.value }) {
				entries = append(entries, e.ID)
			}
		}
	}
	return slices.Compact(entries), nil
}

// significant keeps two digits of a chance.
func significant(x float64) float64 {
	short, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'e', 1, 64), 64)
	return short
}

var tableValues = textTable("values", valueFacts)

// valueFacts are the values of a car that may be compared to the last digit,
// one a line, as plain text: there are many.
func valueFacts(s subject) []byte {
	var out []byte
	for _, r := range s.car.Readings {
		for _, v := range r.Data.Values {
			if v.Gauge == nil || digits(v.Value) < sameDigits || strings.ContainsAny(v.Name, unitMark+kindMark+"\n") {
				continue
			}
			for _, part := range []string{r.Data.Test, v.Name, v.Unit, v.Gauge.Gauge} {
				out = append(append(out, part...), unitMark...)
			}
			_, decimals, _ := strings.Cut(v.Value, ".")
			out = append(strconv.AppendInt(out, int64(len(decimals)), 10), kindMark...)
			out = append(append(out, v.Value...), kindMark...)
			out = append(append(out, r.Entry.By...), kindMark...)
			out = append(strconv.AppendInt(out, r.Entry.At.Unix(), 10), '\n')
		}
	}
	return out
}

// readLine is a line of valueFacts.
func readLine(record, line string) (readKind, readValue, error) {
	kind, rest, _ := strings.Cut(line, kindMark)
	value, rest, _ := strings.Cut(rest, kindMark)
	by, stamp, _ := strings.Cut(rest, kindMark)
	at, err := strconv.ParseInt(stamp, 10, 64)
	return readKind(kind), readValue{record, by, value, at}, err
}

// digits counts what a value says: 0.09 is one digit, 3.00 are three.
func digits(value string) int {
	n := 0
	for _, r := range value {
		if r > '0' && r <= '9' || r == '0' && n > 0 {
			n++
		}
	}
	return n
}
