package datalogtest

import (
	"bytes"
	"strconv"
	"strings"
	"unicode/utf16"
)

// Column is one column of a log.
type Column struct {
	Name, Unit string
	Channel    string // what it is, as the reader of logs calls it
	Sensor     string // gauge, absolute, sealed
	Events     int    // injections per 720 degrees
	Decimals   int
	Of         func(Shot) float64
}

// Columns are what a good log of a pull holds beside its time.
var Columns = []Column{
	{"Engine Speed", "rpm", "engine speed", "", 0, 0, func(s Shot) float64 { return s.RPM }},
	{"MAP", "kPa", "manifold pressure", "absolute", 0, 2, func(s Shot) float64 { return s.MAP }},
	{"Fuel Pressure", "bar", "fuel rail pressure", "gauge", 0, 4, func(s Shot) float64 { return s.Rail }},
	{"Injector PW", "ms", "pulse width", "", 1, 3, func(s Shot) float64 { return s.PW }},
	{"Lambda", "lambda", "lambda", "", 0, 4, func(s Shot) float64 { return s.Lambda }},
	{"Lambda Target", "lambda", "lambda target", "", 0, 3, func(s Shot) float64 { return s.Target }},
	{"Battery", "V", "battery voltage", "", 0, 2, func(s Shot) float64 { return s.Battery }},
	{"Pump Voltage", "V", "pump voltage", "", 0, 2, func(s Shot) float64 { return s.Pump }},
	{"Throttle", "%", "throttle", "", 0, 1, func(s Shot) float64 { return s.Throttle }},
	{"Fuel Temp", "degC", "fuel temperature", "", 0, 1, func(s Shot) float64 { return s.FuelT }},
	{"Ethanol", "%", "ethanol", "", 0, 1, func(s Shot) float64 { return s.Ethanol }},
	{"Baro", "kPa", "barometer", "absolute", 0, 1, func(s Shot) float64 { return s.Baro }},
	{"Pump Current", "A", "pump current", "", 0, 2, func(s Shot) float64 { return s.Current }},
	{"Fuel Level", "L", "fuel level", "", 0, 1, func(s Shot) float64 { return s.Level }},
}

// With are the usual columns and more.
func With(extra ...Column) []Column { return append(append([]Column{}, Columns...), extra...) }

// Columns that some logs have.
var (
	Duty       = Column{"Injector Duty", "%", "injector duty", "", 0, 2, func(s Shot) float64 { return s.Duty }}
	Stage      = Column{"Pump 2", "state", "second stage command", "", 0, 0, func(s Shot) float64 { return s.Stage }}
	Lateral    = Column{"Lateral G", "g", "lateral acceleration", "", 0, 2, func(s Shot) float64 { return s.Lateral }}
	LoggedDrop = Column{"Fuel Delta P", "bar", "pressure difference", "", 0, 3, func(s Shot) float64 { return s.Drop }}
)

// Dialect is how a logger writes.
type Dialect struct {
	Name      string
	Delimiter string
	Comma     bool   // decimal comma
	Units     string // "row", "brackets", "" none
	Preamble  string
	EndOfLine string
	Quoted    bool
	Time      func(s float64) string // nil: seconds
	TimeUnit  string
	Encode    func(string) []byte // nil: UTF-8
	SlowEvery int                 // columns after the sixth are blank but every n-th row
}

// Plain is UTF-8 with commas and a row of units.
func Plain() Dialect {
	return Dialect{Name: "plain", Delimiter: ",", Units: "row", EndOfLine: "\n", TimeUnit: "s"}
}

// Dialects are a few ways in which loggers write.
func Dialects() []Dialect {
	return []Dialect{
		Plain(),
		{Name: "semicolon, decimal comma", Delimiter: ";", Comma: true, Units: "row", EndOfLine: "\r\n", TimeUnit: "s"},
		{Name: "tab, units in brackets", Delimiter: "\t", Units: "brackets", EndOfLine: "\n", TimeUnit: "s", Preamble: "# invented log\n#\n\n"},
		{Name: "quoted, utf-16", Delimiter: ",", Units: "row", EndOfLine: "\r\n", TimeUnit: "s", Quoted: true, Encode: UTF16},
		{Name: "slow channels blank", Delimiter: ",", Units: "row", EndOfLine: "\n", TimeUnit: "s", SlowEvery: 5},
	}
}

func seconds(t float64) string { return strconv.FormatFloat(t, 'f', 4, 64) }

// Render writes the shots in a dialect.
func Render(shots []Shot, columns []Column, d Dialect) []byte {
	var b bytes.Buffer
	b.WriteString(d.Preamble)
	names, units := []string{"Time"}, []string{d.TimeUnit}
	for _, c := range columns {
		names, units = append(names, c.Name), append(units, c.Unit)
	}
	if d.Units == "brackets" {
		for i := range names {
			if units[i] != "" {
				names[i] += " [" + units[i] + "]"
			}
		}
	}
	d.row(&b, names)
	if d.Units == "row" {
		d.row(&b, units)
	}
	cells := make([]string, len(names))
	for i, s := range shots {
		d.fill(cells, i, s, columns)
		d.row(&b, cells)
	}
	if d.Encode != nil {
		return d.Encode(b.String())
	}
	return b.Bytes()
}

func (d Dialect) fill(cells []string, i int, s Shot, columns []Column) {
	cells[0] = seconds(s.T)
	if d.Time != nil {
		cells[0] = d.Time(s.T)
	}
	for j, c := range columns {
		cells[j+1] = strconv.FormatFloat(c.Of(s), 'f', c.Decimals, 64)
		if d.SlowEvery > 0 && j > 5 && i%d.SlowEvery != 0 {
			cells[j+1] = ""
		}
	}
	if d.Comma {
		for i := range cells {
			cells[i] = strings.Replace(cells[i], ".", ",", 1)
		}
	}
}

func (d Dialect) row(b *bytes.Buffer, cells []string) {
	for i, cell := range cells {
		if i > 0 {
			b.WriteString(d.Delimiter)
		}
		if d.Quoted {
			cell = `"` + strings.ReplaceAll(cell, `"`, `""`) + `"`
		}
		b.WriteString(cell)
	}
	b.WriteString(d.EndOfLine)
}

// UTF16 is a text in little-endian UTF-16 with its mark.
func UTF16(s string) []byte {
	out := []byte{0xff, 0xfe}
	for _, u := range utf16.Encode([]rune(s)) {
		out = append(out, byte(u), byte(u>>8))
	}
	return out
}

// Named is the column that a log of these columns calls so, with or without its
// unit in brackets.
func Named(columns []Column, name string) (Column, bool) {
	for _, c := range columns {
		if name == c.Name || strings.HasPrefix(name, c.Name+" [") {
			return c, true
		}
	}
	return Column{}, false
}
