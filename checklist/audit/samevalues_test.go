package audit

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"feedproof/schema"
)

// TestSameValues has 30 others who read 30 values, tech-1 who reads one of them
// on six cars, and what must not be listed beside it. Of the row: others read
// 3.07 once in 30, so the share is (1+1)/(30+2) = 1/16; 43 values of three
// digits on P1 and 6 on P2 were looked at; 49 x (1/16)^6 = 2.92e-6.
func TestSameValues(t *testing.T) {
	s := newShop(t)
	for i := range 30 {
		s.car(fmt.Sprintf("other-%02d", i), "").as("tech-2").on(time.Duration(i)*day).read("base", "P1", "", fmt.Sprintf("rail=3.%02d bar", i))
	}
	reads := func(first int, who, gauge string, values ...string) {
		for i, v := range values {
			s.car(fmt.Sprintf("%s-%s-%02d", who, gauge, first+i), "").as(who).on(time.Duration(first+i)*day).read("base", gauge, "", "rail="+v)
		}
	}
	reads(0, "tech-1", "P1", "3.01 bar", "3.07 bar", "3.07 bar", "3.07 bar", "3.07 bar", "3.07 bar", "3.07 bar", "3.02 bar")
	reads(20, "tech-1", "P1", "3.08 bar", "3.08 bar", "3.08 bar", "3.08 bar")            // four cars are too few
	reads(30, "tech-1", "P1", "3.1 bar", "3.1 bar", "3.1 bar", "3.1 bar", "3.1 bar")     // two digits say nothing
	reads(0, "tech-1", "P2", "3.07 bar", "3.07 bar", "3.07 bar", "3.07 bar", "3.07 bar") // nobody else read on this gauge
	one := s.car("one", "").as("tech-1").on(50 * day)
	one.read("base", "P1", "", "rail=3.09 bar")
	reads(60, "tech-1", "P2", "3.11 bar")
	same(t, s.ask(99*day, "same-values"), "tech-1|base rail|3.07 bar|P1|6|2026-03-03|2026-03-08|30|3.3|2.9e-06")
	if a := s.answer(99*day, "Q22"); len(a.Rows[0].Entries) != 6 {
		t.Errorf("the row rests on %d entries, want 6", len(a.Rows[0].Entries))
	}
}

// Five readings of one car are one car; what everybody reads is no wonder.
func TestSameValuesOfOneCarOrOfAll(t *testing.T) {
	s := newShop(t)
	for i := range 30 {
		s.car(fmt.Sprintf("other-%02d", i), "").as("tech-2").read("base", "P1", "", "rail=3.00 bar", fmt.Sprintf("dead=2.%02d bar", i))
		s.car(fmt.Sprintf("mine-%02d", i), "").read("base", "P1", "", "rail=3.00 bar")
	}
	one := s.car("one", "")
	for i := range 9 {
		one.on(time.Duration(i)*time.Minute).read("base", "P1", "", "dead=2.07 bar")
	}
	same(t, s.ask(day, "same-values"))
}

// valuesOnly is a source of nothing but gathered values.
type valuesOnly struct {
	Source
	cars []string
}

func (s valuesOnly) Facts(_ schema.RecordKind, table string, visit func(string, []byte) error) error {
	if table != tableValues.name {
		return fmt.Errorf("table %s: is not asked for", table)
	}
	for i, facts := range s.cars {
		if err := visit(fmt.Sprint("car-", i), []byte(facts)); err != nil {
			return err
		}
	}
	return nil
}

func (valuesOnly) Record(schema.RecordKind, string) (schema.Record, error) {
	return schema.Record{}, nil
}

// Four honest persons read what comes, as it is spread where pressures are read
// to 0.01 bar. In 400 shops of 200 readings chance may show at most four rows
// (400 x 0.01) on average; 12 would come once in a thousand times (Poisson).
// In the same shops one who copies a value onto eight cars is found.
func TestSameValuesOfHonestPeople(t *testing.T) {
	q, _ := Find("same-values")
	chance := rand.New(rand.NewPCG(1, 2))
	honest, caught := 0, 0
	const shops = 400
	for range shops {
		var s valuesOnly
		for i := range 200 {
			value := fmt.Sprintf("%.2f", 3+0.03*chance.NormFloat64())
			s.cars = append(s.cars, line(value, fmt.Sprint("tech-", i%4), i))
		}
		honest += rowsOf(t, q, s)
		for i := range 8 {
			s.cars = append(s.cars, line("3.02", "tech-0", 300+i))
		}
		caught += min(1, rowsOf(t, q, s))
	}
	t.Logf("%d rows of %d honest shops, %d copiers found", honest, shops, caught)
	if honest > 12 || caught < shops*9/10 {
		t.Errorf("%d rows of %d honest shops, %d copiers found", honest, shops, caught)
	}
}

// line is one value as it is gathered.
func line(value, by string, at int) string {
	return strings.Join([]string{strings.Join([]string{"base", "rail", "bar", "P1", "2"}, unitMark), value, by, fmt.Sprint(at)}, kindMark) + "\n"
}

func rowsOf(t *testing.T, q Question, s Source) int {
	t.Helper()
	a, err := q.Ask(s, nil, epoch)
	if err != nil {
		t.Fatal(err)
	}
	return len(a.Rows)
}
