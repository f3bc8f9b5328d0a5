package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"feedproof/checklist"
	"feedproof/checklist/datalog"
	"feedproof/checklist/state"
	"feedproof/cmd/internal/desk"
	"feedproof/schema"
)

// logMapping is what the columns of a file are, and whose word that is: the
// proposal, then what was confirmed for the same header, for this car or on
// this machine for another, else what this car's last log names, then what was
// typed.
func logMapping(d *desk.Desk, file string, content io.Reader, c *state.Car, typed []string) (datalog.Mapping, string, error) {
	p, err := datalog.Propose(content)
	if err != nil {
		return datalog.Mapping{}, "", failed("feedproof datalog --help", "%s: %v", file, err)
	}
	m, from := confirmed(d, p, c)
	for _, text := range typed {
		column, err := typedColumn(text)
		if err != nil {
			return m, "", err
		}
		if !place(&m, column, p.Guesses) {
			return m, "", wrong("feedproof datalog "+desk.Quoted(c.Vehicle.Name)+" "+desk.Quoted(file), "--map: the log has no column %q", column.Column)
		}
	}
	if err := m.Validate(); err != nil {
		return m, "", wrong(`say it with --map "COLUMN=CHANNEL,unit=...,sensor=..."`, "%s: its columns do not say all:\n  %s", file, strings.ReplaceAll(err.Error(), "\n", "\n  "))
	}
	return m, from, nil
}

// confirmed is the mapping that was confirmed for this header, or the proposal
// with what the car's last log names.
func confirmed(d *desk.Desk, p datalog.Proposal, c *state.Car) (datalog.Mapping, string) {
	for _, l := range slices.Backward(c.Logs) {
		if m := checklist.LogMapping(l.Data); m.Header == p.Mapping.Header {
			return m, fmt.Sprintf("columns as confirmed for %s on %s", l.Data.File, l.Entry.At.Format("2006-01-02"))
		}
	}
	if known, ok := rememberedLogs(d)[p.Mapping.Header]; ok {
		return datalog.Mapping{Header: p.Mapping.Header, Columns: known.Columns}, "columns as confirmed on this machine for " + known.From
	}
	m := p.Mapping
	if len(c.Logs) == 0 {
		return m, "columns as proposed"
	}
	last := c.Logs[len(c.Logs)-1].Data
	for _, column := range checklist.LogMapping(last).Columns {
		place(&m, column, p.Guesses)
	}
	return m, "another header than any before: columns as proposed, with those that " + last.File + " named"
}

// rememberedLog is the mapping of a header that was confirmed on this machine.
type rememberedLog struct {
	From    string           `json:"from"`
	Columns []datalog.Column `json:"columns"`
}

// mappingsFile may be deleted at any time: each car's record keeps its own.
func mappingsFile(d *desk.Desk) string {
	return filepath.Join(d.Store().Dir(), "cache", "log-mappings.json")
}

// rememberedLogs is empty when the file is missing or damaged.
func rememberedLogs(d *desk.Desk) map[string]rememberedLog {
	known := map[string]rememberedLog{}
	text, err := os.ReadFile(mappingsFile(d))
	if err != nil || json.Unmarshal(text, &known) != nil {
		return map[string]rememberedLog{}
	}
	return known
}

// rememberLog keeps a confirmed mapping for the next file with its header, of
// whatever car.
func rememberLog(d *desk.Desk, carName string, l schema.DatalogData) error {
	m := checklist.LogMapping(l)
	known := rememberedLogs(d)
	known[m.Header] = rememberedLog{From: carName + ", " + l.File, Columns: m.Columns}
	text, err := json.MarshalIndent(known, "", "  ")
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(mappingsFile(d)), 0o755); err != nil {
		return err
	}
	return os.WriteFile(mappingsFile(d), text, 0o644)
}

// place puts a column's meaning into the mapping; false when the log has no
// such column. Another column that had the channel loses it.
func place(m *datalog.Mapping, c datalog.Column, guesses []datalog.Guess) bool {
	for _, g := range guesses {
		if g.Column != c.Column {
			continue
		}
		kept := m.Columns[:0]
		for _, old := range m.Columns {
			if old.Column != c.Column && (old.Channel != c.Channel || c.Channel == datalog.NotUsed) {
				kept = append(kept, old)
			}
		}
		m.Columns = append(kept, c)
		return true
	}
	return false
}

// typedColumn reads COLUMN=CHANNEL[,unit=..][,sensor=..][,events=..].
func typedColumn(text string) (datalog.Column, error) {
	name, rest, ok := strings.Cut(text, "=")
	if !ok {
		return datalog.Column{}, wrong(`--map "FP=fuel rail pressure,unit=bar,sensor=gauge"`, "--map: %q is not COLUMN=CHANNEL", text)
	}
	parts := strings.Split(rest, ",")
	c := datalog.Column{Column: name, Channel: datalog.Channel(strings.TrimSpace(parts[0]))}
	for _, part := range parts[1:] {
		key, value, _ := strings.Cut(strings.TrimSpace(part), "=")
		switch key {
		case "unit":
			c.Unit = value
		case "sensor":
			c.Sensor = datalog.Sensor(value)
		case "stoich":
			c.Stoich = value
		case "filter":
			c.Filter = value
		case "events":
			n, err := strconv.Atoi(value)
			if err != nil {
				return c, wrong("events=1", "--map: %s: events: %q is not a number", name, value)
			}
			c.Events = n
		default:
			return c, wrong("unit, sensor, events, stoich or filter", "--map: %s: %q is not something a column has", name, key)
		}
	}
	return c, nil
}
