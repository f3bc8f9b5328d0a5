package datalog

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"feedproof/schema/quantity"
)

// Mapping says which column is which channel, in which unit, of which sensor.
// A person confirms it; it is kept with the file it was confirmed for and is
// offered again for the next file with the same header.
type Mapping struct {
	// Header is the SHA-256 of the column names and units, in order.
	Header string `json:"header"`
	// SHA256 is of the original bytes of the file; empty for a file that was
	// not read to its end yet.
	SHA256 string `json:"sha256,omitempty"`
	// Columns that mean something. Others are left out.
	Columns []Column `json:"columns"`
}

// Column says what one column is.
type Column struct {
	Column  string  `json:"column"`           // its name; the second of one name has " (2)"
	Channel Channel `json:"channel"`          //
	Unit    string  `json:"unit"`             // as the unit table spells it, "state", or "AFR"
	Sensor  Sensor  `json:"sensor,omitempty"` // pressures only
	Events  int     `json:"events,omitempty"` // pulse width only: injections of one injector in 720 degrees
	// Stoich is, for a mixture in AFR, what the column reads at lambda 1: the
	// scale of the logger, not the fuel in the tank.
	Stoich string `json:"stoich,omitempty"`
	// Filter is the time constant or averaging time that the logger applied,
	// "0.5 s"; empty when it is not known, "0 s" when there is none.
	Filter string `json:"filter,omitempty"`
}

// headerSum is the SHA-256 of names and units.
func headerSum(names, units []string) string {
	h := sha256.New()
	for i, name := range names {
		fmt.Fprintf(h, "%q %q\n", name, units[i])
	}
	return hex.EncodeToString(h.Sum(nil))
}

// For is the mapping bound to one file.
func (m Mapping) For(sum string) Mapping {
	m.SHA256 = sum
	return m
}

// Validate reports everything that is missing or contradicts itself, at once.
func (m Mapping) Validate() error {
	var wrong []error
	seen := map[Channel]string{}
	for _, c := range m.Columns {
		if c.Channel == NotUsed {
			continue
		}
		if _, err := c.bind(); err != nil {
			wrong = append(wrong, err)
		}
		if other, ok := seen[c.Channel]; ok && c.Channel != Marker {
			wrong = append(wrong, fmt.Errorf("column %q: %s is mapped from %q already", c.Column, c.Channel, other))
		}
		seen[c.Channel] = c.Column
	}
	for _, need := range []Channel{Time, EngineSpeed} {
		if _, ok := seen[need]; !ok {
			wrong = append(wrong, fmt.Errorf("%s: no column is mapped to it", need))
		}
	}
	return errors.Join(wrong...)
}

// bound is a column with its conversion.
type bound struct {
	slot   slot
	line   line
	sensor Sensor
	events int
	filter float64 // s, NaN when not known
}

func (c Column) bind() (bound, error) {
	s, ok := specOf(c.Channel)
	if !ok {
		return bound{}, fmt.Errorf("column %q: %q is not a channel", c.Column, string(c.Channel))
	}
	b := bound{slot: s.slot, filter: nan}
	if s.slot == sNone {
		return b, nil
	}
	if c.Unit == "" {
		return bound{}, fmt.Errorf("column %q: %s has no unit; it could be %s", c.Column, c.Channel, strings.Join(Units(c.Channel), ", "))
	}
	if err := c.convert(s, &b); err != nil {
		return bound{}, fmt.Errorf("column %q: %w", c.Column, err)
	}
	return b, nil
}

func (c Column) convert(s spec, b *bound) (err error) {
	if s.sensor {
		b.line, b.sensor, err = pressure(c.Unit, c.Sensor)
	} else {
		b.line, err = s.units(c.Unit)
	}
	if err != nil {
		return err
	}
	if c.Unit == mixtureUnit {
		stoich, err := strconv.ParseFloat(c.Stoich, 64)
		if err != nil || !(stoich > 5 && stoich < 20) {
			return fmt.Errorf("say what it reads at lambda 1, such as 14.7")
		}
		b.line.factor = 1 / stoich
	}
	if c.Channel == PulseWidth {
		if c.Events < 1 || c.Events > 8 {
			return fmt.Errorf("say how many injections an injector makes in 720 degrees, 1 to 8")
		}
		b.events = c.Events
	}
	return c.convertFilter(b)
}

func (c Column) convertFilter(b *bound) error {
	if c.Filter == "" {
		return nil
	}
	filter, err := quantity.Parse[quantity.Duration](c.Filter)
	if err != nil {
		return fmt.Errorf("filter: %w", err)
	}
	b.filter = float64(filter)
	return nil
}

// binding is a mapping joined to the columns of an open file.
type binding struct {
	timeColumn int
	timeScale  float64
	slots      []int // column to place in the raw row
	columns    []bound
	bySlot     [slots]*bound
}

// bind joins a mapping to the columns of a file.
func (m Mapping) bind(r *rows) (*binding, error) {
	if sum := headerSum(r.names, r.units); m.Header != sum {
		return nil, fmt.Errorf("mapping: it is for a file with another header: propose a mapping for this file and confirm it")
	}
	if err := m.Validate(); err != nil {
		return nil, fmt.Errorf("mapping: %w", err)
	}
	index := map[string]int{}
	for i, name := range r.names {
		index[name] = i
	}
	b := &binding{timeColumn: -1, slots: make([]int, len(r.names))}
	for i := range b.slots {
		b.slots[i] = -1
	}
	for _, c := range m.Columns {
		i, ok := index[c.Column]
		if !ok {
			return nil, fmt.Errorf("mapping: the file has no column %q", c.Column)
		}
		if c.Channel == NotUsed {
			continue
		}
		col, err := c.bind()
		if err != nil {
			return nil, fmt.Errorf("mapping: %w", err)
		}
		b.add(i, col)
	}
	for i := range b.columns {
		b.bySlot[b.columns[i].slot] = &b.columns[i]
	}
	return b, nil
}

func (b *binding) add(column int, col bound) {
	switch col.slot {
	case sNone:
	case sTime:
		b.timeColumn, b.timeScale = column, col.line.factor
	default:
		b.slots[column] = len(b.columns)
		b.columns = append(b.columns, col)
	}
}

func (b *binding) has(s slot) bool { return b.bySlot[s] != nil }
