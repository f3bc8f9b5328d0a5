package datalog

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"feedproof/checklist/datalogtest"
	"feedproof/schema/quantity"
)

// The logs of these tests are invented: they are regression data and prove
// nothing about an engine. The car is a 2.0 L 4-cylinder turbo of 400 kW with
// a referenced regulator of 3.0 bar and four injectors of 1300 cc/min.

// mapping proposes the mapping of a file and fills in what a person would say.
func mapping(t testing.TB, file []byte, cols []datalogtest.Column) Mapping {
	t.Helper()
	p, err := Propose(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	m := asSaid(p, cols)
	if len(m.Columns) != len(cols)+1 {
		t.Fatalf("%d of %d columns found in %v", len(m.Columns), len(cols)+1, p.Guesses)
	}
	return m
}

func asSaid(p Proposal, cols []datalogtest.Column) Mapping {
	m := Mapping{Header: p.Mapping.Header}
	for _, g := range p.Guesses {
		if strings.HasPrefix(g.Column, "Time") {
			unit := g.Unit
			if unit == "" {
				unit = "s"
			}
			m.Columns = append(m.Columns, Column{Column: g.Column, Channel: Time, Unit: unit})
			continue
		}
		if c, ok := datalogtest.Named(cols, g.Column); ok {
			m.Columns = append(m.Columns, Column{Column: g.Column, Channel: Channel(c.Channel), Unit: c.Unit, Sensor: Sensor(c.Sensor), Events: c.Events, Filter: "0 s"})
		}
	}
	return m
}

var testConditions = Conditions{
	Cylinders: 4, Charger: No,
	HoseOff: Span{quantity.Duration(datalogtest.KeyOnEnd + 0.5), quantity.Duration(datalogtest.HoseOffEnd - 0.5)},
}

func analyse(t testing.TB, d datalogtest.Drive, c Conditions) Result {
	t.Helper()
	return analyseAs(t, d, datalogtest.Columns, datalogtest.Plain(), c)
}

func analyseAs(t testing.TB, d datalogtest.Drive, cols []datalogtest.Column, as datalogtest.Dialect, c Conditions) Result {
	t.Helper()
	file := datalogtest.Render(d.Shots(), cols, as)
	r, err := Analyse(bytes.NewReader(file), mapping(t, file, cols), c)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func describe(r Result) string {
	var b strings.Builder
	for _, s := range r.Signatures {
		fmt.Fprintf(&b, "  %s %-12s %s: %s\n", s.ID, s.State, s.Name, s.Text)
	}
	for _, p := range r.Proofs {
		if p.State != Proven {
			fmt.Fprintf(&b, "  %s %s: %s %v\n", p.State, p.Check, p.Text, p.Limits)
		}
	}
	return b.String()
}

func asDuration(s float64) quantity.Duration { return quantity.Duration(s) }
