package datalog

import (
	"fmt"
	"io"
	"math"
	"strings"
	"unicode"
)

// proposeRows is how many rows the samples of a proposal are taken from.
const proposeRows = 200

// Proposal is what the head of a file suggests, for a person to confirm.
type Proposal struct {
	Reading Reading `json:"reading"` // of the head only
	Mapping Mapping `json:"mapping"`
	Guesses []Guess `json:"columns"`
}

// Guess is what one column seems to be.
type Guess struct {
	Column  string  `json:"column"`
	Unit    string  `json:"unit"`    // as the file says it, "" when it says none
	Channel Channel `json:"channel"` // "" when nothing fits
	Low     string  `json:"low"`     // smallest and largest number in the head, as logged
	High    string  `json:"high"`
	Ask     string  `json:"ask,omitempty"` // what a person must still say
}

// Propose reads the head of a log and proposes a mapping. Units are taken from
// the unit row, from brackets or from the end of a name; one that is not there
// stays empty and is asked for.
func Propose(r io.Reader) (Proposal, error) {
	src, err := openSource(r)
	if err != nil {
		return Proposal{}, err
	}
	defer src.close()
	log, err := openRows(src)
	if err != nil {
		return Proposal{}, err
	}
	p := Proposal{Mapping: Mapping{Header: headerSum(log.names, log.units)}}
	low, high := log.samples()
	for i, c := range log.guess() {
		if c.Channel == Time && c.Unit == "" && math.IsInf(low[i], 0) {
			c.Unit = "s" // dates and hh:mm:ss carry their own units
		}
		g := Guess{Column: c.Column, Unit: c.Unit, Channel: c.Channel, Low: sampleText(low[i]), High: sampleText(high[i])}
		if c.Channel != NotUsed {
			if _, err := c.bind(); err != nil {
				g.Ask = err.Error()
			}
			p.Mapping.Columns = append(p.Mapping.Columns, c)
		}
		p.Guesses = append(p.Guesses, g)
	}
	p.Reading = log.reading
	return p, nil
}

func sampleText(f float64) string {
	if math.IsInf(f, 0) {
		return ""
	}
	return fmt.Sprintf("%g", f)
}

// samples reads some rows for the range of each column.
func (r *rows) samples() (low, high []float64) {
	n := len(r.names)
	slot, row := make([]int, n), make([]float64, n)
	for i := range n {
		slot[i] = i
		low, high = append(low, math.Inf(1)), append(high, math.Inf(-1))
	}
	r.choose(-1, 1, slot)
	for range proposeRows {
		if _, ok := r.next(row); !ok {
			break
		}
		for i, v := range row {
			if v == v {
				low[i], high[i] = min(low[i], v), max(high[i], v)
			}
		}
	}
	return low, high
}

// guess gives each channel to the column that fits it best, the first of equals.
func (r *rows) guess() []Column {
	columns := make([]Column, len(r.names))
	best := map[Channel]int{} // column + 1
	scores := make([]int, len(r.names))
	for i, name := range r.names {
		bare, bracket := cutUnit(name)
		unit := r.units[i]
		if unit == "" {
			unit = bracket
		}
		s, score := nearest(bare, name)
		columns[i] = Column{Column: name, Unit: unit}
		if score == 0 {
			continue
		}
		if prev := best[s.channel]; prev > 0 {
			if scores[prev-1] >= score {
				continue
			}
			columns[prev-1].Channel = NotUsed
		}
		best[s.channel], scores[i] = i+1, score
		columns[i] = complete(s, columns[i], bare)
	}
	return columns
}

// complete fills in what the header says about the channel.
func complete(s spec, c Column, bare string) Column {
	c.Channel = s.channel
	if c.Unit == "" {
		c.Unit = lastWordUnit(s, bare)
	}
	if word, ok := unitWord(s, c.Unit); ok {
		c.Unit = word
	} else if s.slot != sNone {
		c.Unit = ""
	}
	if s.sensor {
		c.Sensor = sensorOf(c.Unit)
	}
	if s.channel == Time && c.Unit == "" && strings.Contains(strings.ToLower(bare), "second") {
		c.Unit = "s"
	}
	if could := Units(s.channel); c.Unit == "" && len(could) == 1 {
		c.Unit = could[0]
	}
	return c
}

// cutUnit takes "MAP [kPa]" apart. The bracket may hold something else than a
// unit, as in "Lambda (bank 1)".
func cutUnit(name string) (bare, unit string) {
	for _, pair := range [...]string{"[]", "()", "{}", "<>"} {
		if i := strings.LastIndexByte(name, pair[0]); i > 0 && name[len(name)-1] == pair[1] {
			return strings.TrimSpace(name[:i]), strings.TrimSpace(name[i+1 : len(name)-1])
		}
	}
	return name, ""
}

// lastWordUnit finds the unit in "rail_kPa" or "MAP, kPa".
func lastWordUnit(s spec, name string) string {
	i := strings.LastIndexAny(name, " _,/;")
	if i < 0 {
		return ""
	}
	if unit, ok := unitWord(s, name[i+1:]); ok && s.slot != sNone {
		return unit
	}
	return ""
}

// nearest is the channel whose names fit a column's best. A whole name scores
// above a name that is only part of it, a longer above a shorter.
func nearest(candidates ...string) (spec, int) {
	var found spec
	best := 0
	for rank, candidate := range candidates {
		text := words(candidate)
		for _, s := range specs {
			for _, name := range s.names {
				score := 0
				switch {
				case text == name:
					score = 1000
				case strings.Contains(text, name) && strings.Contains(" "+text+" ", " "+name+" "):
					score = 10 * len(name)
				}
				if score -= rank; score > best {
					found, best = s, score
				}
			}
		}
	}
	return found, best
}

// words is a name in lower case with one space between its words, also where
// the case changes: "FuelPress_1" is "fuel press 1".
func words(name string) string {
	var out strings.Builder
	lower := false
	for _, c := range name {
		switch {
		case !unicode.IsLetter(c) && !unicode.IsDigit(c):
			out.WriteByte(' ')
			lower = false
			continue
		case unicode.IsUpper(c) && lower:
			out.WriteByte(' ')
		}
		lower = unicode.IsLower(c)
		out.WriteRune(unicode.ToLower(c))
	}
	return strings.Join(strings.Fields(out.String()), " ")
}
