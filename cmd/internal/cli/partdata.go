package cli

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"feedproof/schema"
	"feedproof/schema/quantity"
)

// pumpData reads the points of a pump's curve from flags and a file.
func pumpData(in folder, o partReceiveOptions) (*schema.PumpData, error) {
	d := o.pump
	if d.Source == "" {
		d.Source = "unknown"
	}
	d.Fluid = o.injector.Fluid
	for _, text := range o.points {
		p, err := parsePoint(text)
		if err != nil {
			return nil, wrong(`--point "3 bar 13.5V 250 L/h 8.0A"`, "--point %q: %v", text, err)
		}
		d.Curve = append(d.Curve, p)
	}
	if o.curve != "" {
		points, err := readCurve(in.path(o.curve))
		if err != nil {
			return nil, err
		}
		d.Curve = append(d.Curve, points...)
	}
	if len(d.Curve) == 0 {
		return nil, wrong(`--point "3 bar 13.5V 250 L/h 8.0A" (two pressures at each of two voltages), or --curve FILE`, "pump: has no curve")
	}
	return &d, nil
}

// parsePoint reads the quantities of a point in any order; their units tell
// which is which.
func parsePoint(text string) (schema.PumpPoint, error) {
	var p schema.PumpPoint
	for _, part := range quantitiesIn(text) {
		w, err := quantity.Read(part)
		if err != nil {
			return p, err
		}
		switch {
		case take(w, &p.Pressure), take(w, &p.Voltage), take(w, &p.Flow), take(w, &p.Current):
		case w.Unit == "":
			return p, fmt.Errorf("%s: a number without a unit is refused", w.Value)
		default:
			return p, fmt.Errorf("%s: is neither a pressure, a voltage, a flow nor a current", w)
		}
	}
	if !p.Pressure.Known() || !p.Voltage.Known() || !p.Flow.Known() {
		return p, errors.New("needs a pressure, a voltage and a flow")
	}
	return p, nil
}

// take puts a written quantity where its unit fits and nothing stands yet.
func take[T quantity.Quantity](w quantity.Written, q *schema.Q[T]) bool {
	if _, err := quantity.Of[T](w); err != nil || q.Known() {
		return false
	}
	*q = schema.Write[T](w)
	return true
}

// quantitiesIn splits "3 bar 13.5V" where a number begins.
func quantitiesIn(text string) []string {
	var out []string
	for _, word := range strings.Fields(text) {
		if len(out) == 0 || strings.ContainsAny(word[:1], "0123456789+-.") {
			out = append(out, word)
		} else {
			out[len(out)-1] += " " + word
		}
	}
	return out
}

// mostRows bounds a curve; a maker's sheet has some tens of points.
const mostRows = 10_000

// readCurve reads a CSV file of points. A header may give the unit of its
// column in brackets: pressure (bar), voltage (V), flow (L/h), current (A).
func readCurve(path string) ([]schema.PumpPoint, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	rows := csv.NewReader(f)
	rows.TrimLeadingSpace = true
	rows.Comment = '#'
	var points []schema.PumpPoint
	var units []string
	for line := 1; line <= mostRows; line++ {
		row, err := rows.Read()
		if errors.Is(err, io.EOF) {
			return points, nil
		}
		if err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
		if line == 1 && !strings.ContainsAny(row[0][:min(1, len(row[0]))], "0123456789+-.") {
			units = headerUnits(row)
			continue
		}
		p, err := parsePoint(withUnits(row, units))
		if err != nil {
			return nil, wrong("a header with units: pressure (bar), voltage (V), flow (L/h), current (A)", "%s line %d: %v", path, line, err)
		}
		points = append(points, p)
	}
	return nil, failed("a shorter curve", "%s: has more than %d rows", path, mostRows)
}

func headerUnits(row []string) []string {
	units := make([]string, len(row))
	for i, cell := range row {
		if open := strings.LastIndexAny(cell, "(["); open >= 0 {
			units[i] = strings.TrimRight(cell[open+1:], ")] ")
		}
	}
	return units
}

func withUnits(row, units []string) string {
	cells := make([]string, len(row))
	for i, cell := range row {
		cells[i] = strings.TrimSpace(cell)
		if w, err := quantity.Read(cell); err == nil && w.Unit == "" && i < len(units) {
			cells[i] += " " + units[i]
		}
	}
	return strings.Join(cells, " ")
}

// injectorData reads what an injector's flow sheet says.
func injectorData(o partReceiveOptions) (*schema.InjectorData, error) {
	d := o.injector
	w, err := quantity.Read(o.static)
	if err != nil || !take(w, &d.StaticFlow) && !take(w, &d.StaticMass) {
		return nil, wrong(`--static "1000 cc/min" --rated-at "3 bar" --fluid n-heptane`, "--static: %q is not a flow with its unit", o.static)
	}
	if d.Pressure.IsZero() {
		return nil, wrong(`--rated-at "3 bar"`, "--rated-at: a static flow means nothing without the pressure it was measured at")
	}
	for _, text := range o.dead {
		var t schema.DeadTime
		for _, part := range quantitiesIn(text) {
			w, err := quantity.Read(part)
			if err != nil || !take(w, &t.Voltage) && !take(w, &t.Time) {
				return nil, wrong(`--dead "14V 0.95ms"`, "--dead: %q is not a voltage and a time", text)
			}
		}
		if !t.Voltage.Known() || !t.Time.Known() {
			return nil, wrong(`--dead "14V 0.95ms"`, "--dead: %q needs a voltage and a time", text)
		}
		d.DeadTime = append(d.DeadTime, t)
	}
	return &d, nil
}
