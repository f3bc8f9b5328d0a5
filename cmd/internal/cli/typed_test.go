package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/records"
	"feedproof/schema"
	"feedproof/schema/quantity"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func reading(t *testing.T, name string) schema.Reading {
	t.Helper()
	test, err := findTest(name)
	if err != nil {
		t.Fatal(err)
	}
	return test
}

func TestParseValues(t *testing.T) {
	for _, c := range []struct {
		test, words string
		want        []schema.Value
	}{
		{"base", "43.5|psi", []schema.Value{{Name: "rail", Value: "43.5", Unit: "psi"}}},
		{"base", "rail=3,00bar", []schema.Value{{Name: "rail", Value: "3.00", Unit: "bar"}}},
		{"base", "unknown", []schema.Value{{Name: "rail", State: schema.Unknown}}},
		{"base", "not-measured:no port", []schema.Value{{Name: "rail", State: schema.NotMeasured, Why: "no port"}}},
		{"leak-down", "start=3.00|bar|end=2.90bar|time=5min", []schema.Value{{Name: "start", Value: "3.00", Unit: "bar"}, {Name: "end", Value: "2.90", Unit: "bar"}, {Name: "time", Value: "5", Unit: "min"}}},
		{"leak", "pressure=4.4bar|hanger=dry|rail inlet=sm", []schema.Value{{Name: "pressure", Value: "4.4", Unit: "bar"}, {Name: "hanger", Seen: "dry"}, {Name: "rail inlet", Seen: "smell"}}},
		{"tank-air", "temperature-start=20degC", []schema.Value{{Name: "temperature start", Value: "20", Unit: "degC"}}},
		{"idle", "manifold=20|inHg|vacuum", []schema.Value{{Name: "manifold", Value: "20", Unit: "inHg vacuum"}}},
	} {
		got, err := parseValues(reading(t, c.test), strings.Split(c.words, "|"))
		if diff := cmp.Diff(c.want, got); err != nil || diff != "" {
			t.Errorf("%s %s: %v\n%s", c.test, c.words, err, diff)
		}
	}
}

func TestParseValuesRefuses(t *testing.T) {
	for _, c := range []struct{ test, words, says string }{
		{"base", "43.5", "a number without a unit is refused"},
		{"base", "43.5|spi", `"spi" is not a unit of gauge pressure`},
		{"base", "3.0 bar abs", "does not fit a gauge pressure"},
		{"idle", "3.0bar", "has several values"},
		{"base", "tank=3bar", "is not a value of base"},
		{"leak", "hanger=moist", "is not one of dry, damp, wet, smell"},
		{"gas", "floor=0%", "is not a unit of gas reading"},
	} {
		if _, err := parseValues(reading(t, c.test), strings.Split(c.words, "|")); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s %s: %v, want %q", c.test, c.words, err, c.says)
		}
	}
}

func TestParsePoint(t *testing.T) {
	want := schema.PumpPoint{
		Pressure: schema.Write[quantity.Difference](quantity.Written{Value: "3", Unit: "bar"}),
		Voltage:  schema.Write[quantity.Voltage](quantity.Written{Value: "13.5", Unit: "V"}),
		Flow:     schema.Write[quantity.Flow](quantity.Written{Value: "250", Unit: "L/h"}),
		Current:  schema.Write[quantity.Current](quantity.Written{Value: "8.0", Unit: "A"}),
	}
	for _, text := range []string{"3 bar 13.5V 250 L/h 8.0A", "13.5 V 3bar 8.0 A 250L/h"} {
		got, err := parsePoint(text)
		if diff := cmp.Diff(want, got); err != nil || diff != "" {
			t.Errorf("%s: %v\n%s", text, err, diff)
		}
	}
	for text, says := range map[string]string{
		"3 bar 250 L/h":             "needs a pressure, a voltage and a flow",
		"3 13.5V 250 L/h":           "a number without a unit",
		"3 bar 4 bar 13.5V 250 L/h": "is neither",
		"bar":                       "",
	} {
		if _, err := parsePoint(text); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v, want %q", text, err, says)
		}
	}
}

func TestSpan(t *testing.T) {
	for text, want := range map[string][2]string{
		"0 to 10 bar":     {"0 bar", "10 bar"},
		"0..10 %":         {"0 %", "10 %"},
		"-1 bar to 3 bar": {"-1 bar", "3 bar"},
	} {
		low, high, err := span(text)
		if got := [2]string{low.String(), high.String()}; err != nil || got != want {
			t.Errorf("%s: %v %v", text, got, err)
		}
	}
	for _, text := range []string{"10 bar", "to", "a to b"} {
		if _, _, err := span(text); err == nil {
			t.Errorf("%s: accepted", text)
		}
	}
}

// Boost is taken over the standard atmosphere, 101.325 kPa (ISO 2533).
func TestBoost(t *testing.T) {
	var e schema.Envelope
	if err := (boostFlag{&e}).Set("1.2 bar"); err != nil || e.Manifold.String() != "221.325 kPa abs" {
		t.Errorf("%s %v", e.Manifold, err)
	}
	if err := (boostFlag{&e}).Add("+0.5bar"); err != nil || quantity.TextIn(e.Manifold.Or(0), "kPa abs") != "271.3 kPa abs" {
		t.Errorf("%s %v", e.Manifold, err)
	}
}

// A boost of nothing is written, read and shown like any other.
func TestBoostRoundTrips(t *testing.T) {
	for _, text := range []string{"0 psi", "0 bar", "-0.4 bar", "1.2 bar", "14.5 psi"} {
		var e schema.Envelope
		f := boostFlag{&e}
		if err := f.Set(text); err != nil || !e.Manifold.Known() {
			t.Errorf("%s: %v %v", text, e.Manifold, err)
		}
		first := e.Manifold
		if err := f.Set(f.String()); err != nil || e.Manifold != first {
			t.Errorf("%s is shown as %s and read back as %s, not %s (%v)", text, f.String(), e.Manifold, first, err)
		}
	}
}

// A sign word moves; a plain sign belongs to the value.
func TestMovedBy(t *testing.T) {
	for text, want := range map[string]string{"+=0.3 bar": "0.3 bar", "-=0.3 bar": "-0.3 bar", "-= -0.3 bar": "0.3 bar", "+= -0.3 bar": "-0.3 bar"} {
		if by, is := movedBy(text); !is || by != want {
			t.Errorf("%s: %q %v", text, by, is)
		}
	}
	for _, text := range []string{"-0.3 bar", "0.3 bar", "unknown", ""} {
		if by, is := movedBy(text); is {
			t.Errorf("%s moves by %s", text, by)
		}
	}
}

func TestConsumptionNamesItsFuel(t *testing.T) {
	for text, want := range map[string][2]string{"0.36 kg/kWh on 10 %": {"0.36 kg/kWh", "10 %"}, "0.53 kg/kWh on E85": {"0.53 kg/kWh", "85 %"}} {
		var e schema.EnginePlan
		if err := (consumptionFlag{&e}).Set(text); err != nil || e.Consumption.String() != want[0] || e.Measured.String() != want[1] {
			t.Errorf("%s: %s on %s (%v)", text, e.Consumption, e.Measured, err)
		}
	}
	for text, say := range map[string]string{"0.36 kg/kWh": "on which fuel", "0.36 kg/kWh on M15": "methanol", "0.36 on 10 %": "unit", "0.36 kg/kWh on high": "high"} {
		var e schema.EnginePlan
		if err := (consumptionFlag{&e}).Set(text); err == nil || !strings.Contains(err.Error(), say) {
			t.Errorf("%s: %v, want %q", text, err, say)
		}
	}
}

// What is added and taken off again is where it began.
func TestAddAndTakeOff(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		start, step := rapid.IntRange(1, 900).Draw(t, "start"), rapid.IntRange(1, 900).Draw(t, "step")
		q := schema.Write[quantity.Power](quantity.Written{Value: fmt.Sprint(start), Unit: "kW"})
		f := quantityFlag[quantity.Power]{&q}
		for _, by := range []string{fmt.Sprintf("+%d kW", step), fmt.Sprintf("-%d kW", step)} {
			if err := f.Add(by); err != nil {
				t.Fatal(err)
			}
		}
		if got := quantity.In(q.Or(0), "kW"); got != float64(start) {
			t.Fatalf("%d kW and back: %v", start, got)
		}
	})
}

func TestOneOf(t *testing.T) {
	words := []string{"fuel technician", "technician", "tuner"}
	for typed, want := range map[string]string{"tuner": "tuner", "Fuel-Tech": "fuel technician", "tech": "technician"} {
		if got, err := oneOf(typed, words); err != nil || got != want {
			t.Errorf("%s: %s %v", typed, got, err)
		}
	}
	for _, typed := range []string{"t", "", "lead"} {
		if got, err := oneOf(typed, words); err == nil {
			t.Errorf("%q: %s", typed, got)
		}
	}
}

func TestWords(t *testing.T) {
	for got, want := range map[string]string{
		desk.Plural(1, "entry"): "1 entry", desk.Plural(3, "entry"): "3 entries", desk.Plural(2, "finding"): "2 findings", desk.Plural(0, "key"): "0 keys",
		cut("Blow through. Then look.", 48): "Blow through", cut("one two three four", 9): "one two ...", cut("short.", 48): "short",
		idFrom("Robin Vale"): "robin-vale", idFrom("bay_2.local"): "bay-2-local", idFrom("Å"): "one",
		initials("Robin van Vale"): "RVV", desk.Quoted("two words"): `"two words"`, desk.Quoted("one"): "one",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestDemoArgs(t *testing.T) {
	for line, want := range map[string][]string{
		`read kestrel base 43.5 psi`:                  {"read", "kestrel", "base", "43.5", "psi"},
		`--name "Sam Reed" --role x`:                  {"--name", "Sam Reed", "--role", "x"},
		`read car leak "rail inlet=dry" hanger=dry`:   {"read", "car", "leak", "rail inlet=dry", "hanger=dry"},
		`idle manifold="20.0 inHg vacuum" on=2.33bar`: {"idle", "manifold=20.0 inHg vacuum", "on=2.33bar"},
	} {
		if diff := cmp.Diff(want, demoArgs(line)); diff != "" {
			t.Errorf("%s\n%s", line, diff)
		}
	}
}

func TestExitCodes(t *testing.T) {
	for _, c := range []struct {
		err  error
		want int
	}{
		{errors.New("broke"), exitFailed},
		{failed("", "broke"), exitFailed},
		{wrong("", "slip"), exitUsage},
		{&desk.Error{Kind: desk.Refused, Wrong: "no"}, exitRefused},
		{&records.RefusedError{}, exitRefused},
		{fmt.Errorf("wrapped: %w", &records.RefusedError{}), exitRefused},
		{&records.RoleError{Reason: errors.New("no")}, exitRefused},
		{&records.VerifyError{Reason: errors.New("no")}, exitNotProven},
		{&schema.InvalidError{}, exitUsage},
		{&records.BusyError{}, exitBusy},
		{fs.ErrPermission, exitFailed},
		{unknownCommand(Commands(), []string{"reed"}), exitUsage},
	} {
		if got, _ := explainFailure(c.err); got.Exit != c.want {
			t.Errorf("%T %v: %d, want %d", c.err, c.err, got.Exit, c.want)
		}
	}
}

// A word in another encoding (here Latin-1) would be changed by writing it as
// JSON, so it is refused before anything runs.
func TestNotUTF8(t *testing.T) {
	var out, errs strings.Builder
	code := Main(World{In: strings.NewReader(""), Out: &out, Err: &errs, Dir: t.TempDir(), Getenv: func(string) string { return "" }}, []string{"note", "wren", "sm\xf6rgas"})
	if code != exitUsage || out.Len() > 0 || !strings.Contains(errs.String(), "sm?rgas: is not UTF-8 text") {
		t.Errorf("exit %d, out %q, err %q", code, out.String(), errs.String())
	}
}
