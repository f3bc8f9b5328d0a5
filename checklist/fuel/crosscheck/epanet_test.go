// Package crosscheck holds the hydraulic solver to others. It is tests alone.
//
// Start with [TestNetworks], which solves networks of the public EPANET input
// text format and compares with what the EPANET engine made of them. With the
// build tag crosscheck, random networks and the friction laws are compared live
// with that engine (npm package epanet-js) and with the Python library fluids
// (Debian package python3-fluids).
//
// Read are the sections a steady state needs: TITLE, JUNCTIONS, RESERVOIRS,
// TANKS, PIPES, PUMPS, VALVES (PRV and PSV), EMITTERS, DEMANDS, CURVES,
// PATTERNS (first value), STATUS and OPTIONS. Sections about time, quality,
// energy, reports and drawing are passed over. What would change the answer
// and is not read (controls, rules, other valves and friction laws) is an error.
//
// Format and laws: EPANET 2.2 User Manual, EPA/600/R-20/133 (2020).
package crosscheck

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"strings"

	"feedproof/checklist/fuel/network"
	"feedproof/schema/quantity"
)

// Model is a network as read, with its elements by name.
type Model struct {
	Title   string
	Network *network.Network
	Nodes   map[string]network.Node
	Links   map[string]network.Link
	Order   []string        // of nodes, as in the file
	LinkIDs []string        // of links, as in the file
	closed  map[string]bool // links that carry nothing
	heads   map[string]float64
	units   units
	fluid   network.Fluid
}

// Head of a node in metres, after a solution.
func (m *Model) Head(id string) float64 {
	p := float64(m.Network.Pressure(m.Nodes[id])) / (float64(m.fluid.Density) * float64(m.fluid.Gravity))
	return p + m.heads[id]
}

// Flow of a link, after a solution.
func (m *Model) Flow(id string) quantity.Flow {
	if m.closed[id] {
		return 0
	}
	return m.Network.Flow(m.Links[id])
}

// line is one line of a section, split into fields, of which there is at least one.
type line struct {
	number int
	fields []string
}

type reader struct {
	settings settings
	sections map[string][]line
	model    *Model
	curves   map[string][][2]float64
	patterns map[string][]float64
	demands  map[string]float64
	status   map[string]string
}

// The sections that are read, and those that do not bear on a steady state.
var (
	readSections    = words("TITLE JUNCTIONS RESERVOIRS TANKS PIPES PUMPS VALVES EMITTERS DEMANDS CURVES PATTERNS STATUS OPTIONS")
	ignoredSections = words("TIMES REPORT COORDINATES VERTICES LABELS BACKDROP TAGS ENERGY QUALITY REACTIONS SOURCES MIXING END")
	refusedSections = words("CONTROLS RULES LEAKAGE")
)

func words(s string) map[string]bool {
	out := map[string]bool{}
	for _, w := range strings.Fields(s) {
		out[w] = true
	}
	return out
}

// Read reads an input file. Errors name the line.
func Read(in io.Reader) (*Model, error) {
	r := &reader{sections: map[string][]line{}, curves: map[string][][2]float64{}, patterns: map[string][]float64{}, demands: map[string]float64{}, status: map[string]string{}}
	if err := r.split(in); err != nil {
		return nil, err
	}
	r.model = &Model{Nodes: map[string]network.Node{}, Links: map[string]network.Link{}, closed: map[string]bool{}, heads: map[string]float64{}}
	for _, l := range r.sections["TITLE"] {
		r.model.Title = strings.TrimSpace(r.model.Title + " " + strings.Join(l.fields, " "))
	}
	steps := []struct {
		section string
		read    func(line) error
	}{
		{"CURVES", r.curve}, {"PATTERNS", r.pattern}, {"DEMANDS", r.demand}, {"STATUS", r.statusLine},
		{"JUNCTIONS", r.junction}, {"RESERVOIRS", r.reservoir}, {"TANKS", r.tank},
		{"PIPES", r.pipe}, {"PUMPS", r.pump}, {"VALVES", r.valve}, {"EMITTERS", r.emitter},
	}
	if err := r.options(); err != nil {
		return nil, err
	}
	r.model.Network = network.New(r.model.fluid)
	for _, s := range steps {
		for _, l := range r.sections[s.section] {
			if err := s.read(l); err != nil {
				return nil, fmt.Errorf("line %d, [%s]: %w", l.number, s.section, err)
			}
		}
	}
	if len(r.model.Nodes) == 0 {
		return nil, fmt.Errorf("network file: no nodes")
	}
	for id := range r.demands {
		if _, ok := r.model.Nodes[id]; !ok {
			return nil, fmt.Errorf("[DEMANDS]: node %s is not in the file", id)
		}
	}
	return r.model, nil
}

// split sorts the lines by section, without comments.
func (r *reader) split(in io.Reader) error {
	scan := bufio.NewScanner(in)
	section, number := "", 0
	for scan.Scan() {
		number++
		text, _, _ := strings.Cut(scan.Text(), ";")
		text = strings.TrimSpace(text)
		if text == "" {
			continue
		}
		if strings.HasPrefix(text, "[") {
			section = strings.ToUpper(strings.Trim(text, "[]"))
			if !readSections[section] && !ignoredSections[section] && !refusedSections[section] {
				return fmt.Errorf("line %d: section [%s] is not of the format", number, section)
			}
			continue
		}
		switch {
		case section == "":
			return fmt.Errorf("line %d: text before the first section", number)
		case refusedSections[section]:
			return fmt.Errorf("line %d: [%s] changes the network and is not read", number, section)
		case readSections[section]:
			r.sections[section] = append(r.sections[section], line{number, strings.Fields(text)})
		}
	}
	if err := scan.Err(); err != nil {
		return fmt.Errorf("line %d: %w", number+1, err)
	}
	return nil
}

// numbers reads fields from..from+count as numbers.
func (l line) numbers(from, count int) ([]float64, error) {
	if len(l.fields) < from+count {
		return nil, fmt.Errorf("%s: %d fields, at least %d are needed", l.fields[0], len(l.fields), from+count)
	}
	out := make([]float64, count)
	for i := range out {
		v, err := strconv.ParseFloat(l.fields[from+i], 64)
		if err != nil || v != v || v > 1e15 || v < -1e15 {
			return nil, fmt.Errorf("%s: %q is not a number", l.fields[0], l.fields[from+i])
		}
		out[i] = v
	}
	return out, nil
}

// optional reads one field as a number, or gives a default when it is not there.
func (l line) optional(at int, otherwise float64) (float64, error) {
	if len(l.fields) <= at {
		return otherwise, nil
	}
	v, err := l.numbers(at, 1)
	if err != nil {
		return 0, err
	}
	return v[0], nil
}
