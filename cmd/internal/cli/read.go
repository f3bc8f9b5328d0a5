package cli

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"
	"feedproof/schema/quantity"

	"github.com/spf13/cobra"
)

// readOptions are a reading as it was typed.
type readOptions struct {
	car, test            string
	words                []string // [NAME=]VALUE
	data                 schema.ReadingData
	conditions           schema.Conditions
	gauges, zeros, ports []string
	at                   string
}

func newReadCommand(run func(context.Context, readOptions) error) *cobra.Command {
	var o readOptions
	c := &cobra.Command{
		Use: "read CAR TEST [NAME=]VALUE ...", Short: "record a reading: value and unit, gauge and conditions",
		Args:    asUsed,
		Example: readExamples,
		RunE: func(c *cobra.Command, args []string) error {
			o.car, o.test, o.words = args[0], args[1], args[2:]
			return run(c.Context(), o)
		},
	}
	longLater(c, readLong)
	f := c.Flags()
	f.StringArrayVar(&o.gauges, "gauge", nil, "gauge, or NAME=gauge for one value (default: the only one that fits)")
	f.StringArrayVar(&o.zeros, "zero", nil, "what the gauge read before, vented: VALUE or NAME=VALUE")
	f.StringArrayVar(&o.ports, "port", nil, "where: PORT or NAME=PORT")
	f.StringVar(&o.conditions.Hose, "hose", "", "regulator reference hose: on, off")
	f.StringVar(&o.conditions.Engine, "engine", "", "engine: off, idle, load")
	measure(f, &o.conditions.Speed, "rpm", "engine speed")
	measure(f, &o.conditions.FuelLevel, "fuel", "fuel in the tank")
	measure(f, &o.conditions.Ethanol, "ethanol", "ethanol content")
	measure(f, &o.conditions.FuelTemp, "fuel-temp", "fuel temperature")
	measure(f, &o.conditions.AirTemp, "air-temp", "air temperature")
	measure(f, &o.conditions.Barometer, "barometer", "barometer, as kPa abs")
	choice(f, &o.conditions.Charger, "charger", "battery charger connected")
	f.IntVar(&o.data.Attempt, "attempt", 0, "which attempt it was")
	f.StringVar(&o.data.Second, "second", "", "second person who saw it")
	f.StringVar(&o.data.Late, "late", "", `why it is typed late: "from paper sheet 12"`)
	f.StringVar(&o.data.Note, "note", "", "in words")
	f.StringVar(&o.at, "at", "", "when it was read (RFC 3339, or 09:14 today)")
	return c
}

const readExamples = `  feedproof read kestrel base 43.5 psi --hose off
  feedproof read kestrel gas floor=0%LEL work=0%LEL
  feedproof read kestrel idle off=3.00bar on=2.33bar manifold="20 inHg vacuum"
  feedproof read kestrel leak-down start=3.00bar end=2.90bar time=5min
  feedproof read kestrel leak pressure=4.3bar hanger=dry rail=dry --second tech-1
  feedproof read kestrel supply source=13.9V pump=13.5V current=not-measured:"no clamp meter"`

// readLong lists the tests and their values, from the table that defines them.
func readLong() string {
	var b strings.Builder
	b.WriteString("Record a reading: each value with its unit, its gauge and the conditions.\nA value may be unknown, not-measured:WHY or na:WHY. In a leak test all=dry\nstands for each joint that was opened.\n\nTests and their values (in brackets: if there is one):\n")
	for _, t := range schema.Readings {
		fmt.Fprintf(&b, "  %-16s %s\n", t.Name, valueNames(t))
	}
	return strings.TrimRight(b.String(), "\n")
}

func valueNames(t schema.Reading) string {
	var names []string
	for _, v := range t.Values {
		name := v.Name
		if t.Joints && v.Name == "joint" {
			name = "JOINT=" + strings.Join(v.Seen, "|")
		}
		if v.Optional {
			name = "[" + name + "]"
		}
		names = append(names, name)
	}
	return strings.Join(names, " ")
}

func runRead(_ context.Context, d *desk.Desk, out *terminal.Screen, o readOptions) error {
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	data, err := readingOf(d, o)
	if err != nil {
		return err
	}
	at, err := moment(d.Now(), o.at)
	if err != nil {
		return err
	}
	return record(d, out, c, at, data)
}

// readingOf is the reading with its instruments and people as the shop knows
// them.
func readingOf(d *desk.Desk, o readOptions) (schema.ReadingData, error) {
	data := o.data
	test, err := findTest(o.test)
	if err != nil {
		return data, err
	}
	data.Test = test.Name
	if data.Values, err = parseValues(test, o.words); err != nil {
		return data, err
	}
	if err := equip(d, test, data.Values, o); err != nil {
		return data, err
	}
	if data.Second != "" {
		m, err := d.Person(data.Second)
		if err != nil {
			return data, err
		}
		data.Second = m.Person
	}
	if o.conditions != (schema.Conditions{}) {
		data.Conditions = &o.conditions
	}
	return data, nil
}

func findTest(name string) (schema.Reading, error) {
	names := make([]string, len(schema.Readings))
	for i, t := range schema.Readings {
		names[i] = t.Name
	}
	found, err := oneOf(name, names)
	if err != nil {
		return schema.Reading{}, wrong("feedproof read --help; "+desk.Nearest(name, names, func(n string) []string { return []string{n} }), "test %s: is not a reading", name)
	}
	t, _ := schema.FindReading(found)
	return t, nil
}

// parseValues reads NAME=VALUE words. A word without an equals sign goes on
// with the value before it, so that 43.5 psi needs no quotes; without any name
// it is the test's only needed value.
func parseValues(t schema.Reading, words []string) ([]schema.Value, error) {
	var named [][2]string
	for _, w := range words {
		name, value, ok := strings.Cut(w, "=")
		switch {
		case ok:
			named = append(named, [2]string{name, value})
		case len(named) > 0:
			named[len(named)-1][1] += " " + w
		default:
			only, err := onlyValue(t)
			if err != nil {
				return nil, err
			}
			named = append(named, [2]string{only, w})
		}
	}
	if len(named) == 0 {
		return nil, wrong("feedproof explain "+t.Name, "%s: no value given; it needs %s", t.Name, valueNames(t))
	}
	var values []schema.Value
	for _, n := range named {
		v, err := parseValue(t, n[0], strings.TrimSpace(n[1]))
		if err != nil {
			return nil, err
		}
		values = append(values, v)
	}
	return values, nil
}

func onlyValue(t schema.Reading) (string, error) {
	var needed []string
	for _, v := range t.Values {
		if !v.Optional {
			needed = append(needed, v.Name)
		}
	}
	if len(needed) == 1 {
		return needed[0], nil
	}
	if len(needed) == 0 && len(t.Values) == 1 {
		return t.Values[0].Name, nil
	}
	return "", wrong("feedproof explain "+t.Name, "%s: has several values; say which: %s", t.Name, valueNames(t))
}

func parseValue(t schema.Reading, name, text string) (schema.Value, error) {
	name = spelled(t, name)
	tv, ok := t.Value(name)
	if !ok {
		return schema.Value{}, wrong("feedproof explain "+t.Name, "%s: is not a value of %s; it has %s", name, t.Name, valueNames(t))
	}
	if word, why, ok := noNumber(text); ok {
		return schema.Value{Name: name, State: word, Why: why}, nil
	}
	if len(tv.Seen) > 0 {
		seen, err := oneOf(text, tv.Seen)
		if err != nil {
			return schema.Value{}, wrong("", "%s: %v", name, err)
		}
		return schema.Value{Name: name, Seen: seen}, nil
	}
	return parseNumber(tv, name, text)
}

// spelled is the value's name as the table has it: temperature-start is
// "temperature start".
func spelled(t schema.Reading, name string) string {
	for _, v := range t.Values {
		if desk.Fold(v.Name) == desk.Fold(name) {
			return v.Name
		}
	}
	return name
}

func parseNumber(tv schema.ReadingValue, name, text string) (schema.Value, error) {
	w, err := quantity.Read(text)
	for i, d := range tv.Accepts {
		if err != nil && i == 0 {
			break
		}
		unfit := quantity.Check(w, d)
		if unfit == nil {
			return schema.Value{Name: name, Value: w.Value, Unit: w.Unit}, nil
		}
		if err == nil {
			err = unfit
		}
	}
	return schema.Value{}, wrong("", "%s: %v", name, err)
}

// equip copies the gauge, its zero and the port to each measured value.
func equip(d *desk.Desk, t schema.Reading, values []schema.Value, o readOptions) error {
	all, err := d.Gauges()
	if err != nil {
		return err
	}
	for i := range values {
		v := &values[i]
		if v.Value == "" {
			continue
		}
		tv, _ := t.Value(v.Name)
		g, err := gaugeFor(d, *v, tv, t, all, o.gauges)
		if err != nil {
			return err
		}
		if g != nil {
			v.Gauge = &g.Snapshot
		}
		if zero := forValue(v.Name, o.zeros); zero != "" {
			if v.Zero, err = quantity.Read(zero); err != nil {
				return wrong(`--zero "0.02 bar"`, "--zero: %v", err)
			}
		}
		v.Port = forValue(v.Name, o.ports)
	}
	return nil
}

// gaugeFor is the gauge that was named for a value, or the usual one. A gauge
// that was named for the whole reading is that of the values which it measures.
func gaugeFor(d *desk.Desk, v schema.Value, tv schema.ReadingValue, t schema.Reading, all []desk.Instrument, named []string) (*desk.Instrument, error) {
	name := forValue(v.Name, slices.DeleteFunc(slices.Clone(named), func(n string) bool { return !strings.Contains(n, "=") }))
	if name != "" {
		g, err := d.Gauge(name)
		return &g, err
	}
	if name = forValue(v.Name, named); name == "" || !measuresIt(tv) {
		return desk.UsualGauge(all, tv, v)
	}
	g, err := d.Gauge(name)
	if err == nil && !g.Reads(tv) && slices.ContainsFunc(t.Values, g.Reads) {
		return desk.UsualGauge(all, tv, v)
	}
	return &g, err
}

// measuresIt reports that a value is read from an desk.Instrument, not from a watch
// or a jug.
func measuresIt(tv schema.ReadingValue) bool {
	return len(tv.Accepts) > 0 && (len(desk.Measuring(tv.Accepts[0])) > 0 || tv.Name == "ethanol")
}

// forValue picks NAME=X for this value, else a plain X.
func forValue(name string, given []string) string {
	plain := ""
	for _, g := range given {
		n, x, ok := strings.Cut(g, "=")
		switch {
		case ok && desk.Fold(n) == desk.Fold(name):
			return x
		case !ok:
			plain = g
		}
	}
	return plain
}
