package crosscheck

import (
	"fmt"
	"math"
	"strings"

	"feedproof/checklist/fuel/network"
	"feedproof/schema/quantity"
)

func (r *reader) curve(l line) error {
	v, err := l.numbers(1, 2)
	if err != nil {
		return err
	}
	r.curves[l.fields[0]] = append(r.curves[l.fields[0]], [2]float64{v[0], v[1]})
	return nil
}

func (r *reader) pattern(l line) error {
	v, err := l.numbers(1, len(l.fields)-1)
	if err != nil {
		return err
	}
	r.patterns[l.fields[0]] = append(r.patterns[l.fields[0]], v...)
	return nil
}

// multiplier is the first value of a pattern; the default pattern may be missing.
func (r *reader) multiplier(l line, at int, otherwise string) (float64, error) {
	id := otherwise
	if len(l.fields) > at {
		id = l.fields[at]
	}
	if p := r.patterns[id]; len(p) > 0 {
		return p[0], nil
	}
	if id != otherwise {
		return 0, fmt.Errorf("%s: pattern %s is not in the file", l.fields[0], id)
	}
	return 1, nil
}

func (r *reader) demand(l line) error {
	v, err := l.numbers(1, 1)
	if err != nil {
		return err
	}
	m, err := r.multiplier(l, 2, r.settings.pattern)
	r.demands[l.fields[0]] += v[0] * m
	return err
}

func (r *reader) statusLine(l line) error {
	if len(l.fields) < 2 {
		return fmt.Errorf("%s: no status", l.fields[0])
	}
	r.status[l.fields[0]] = strings.ToUpper(l.fields[1])
	return nil
}

func (r *reader) node(id string, make func() network.Node, elevation float64) error {
	if _, twice := r.model.Nodes[id]; twice {
		return fmt.Errorf("node %s is in the file twice", id)
	}
	r.model.Nodes[id] = make()
	r.model.heads[id] = elevation
	r.model.Order = append(r.model.Order, id)
	return nil
}

func (r *reader) junction(l line) error {
	v, err := l.numbers(1, 1)
	if err != nil {
		return err
	}
	q, err := l.optional(2, 0)
	if err != nil {
		return err
	}
	m, err := r.multiplier(l, 3, r.settings.pattern)
	if err != nil {
		return err
	}
	q *= m
	if d, ok := r.demands[l.fields[0]]; ok {
		q = d
	}
	z := v[0] * r.model.units.length
	return r.node(l.fields[0], func() network.Node {
		return r.model.Network.Junction(l.fields[0], quantity.Length(z), quantity.Flow(q*r.settings.demandFactor*r.model.units.flow))
	}, z)
}

func (r *reader) reservoir(l line) error {
	v, err := l.numbers(1, 1)
	if err != nil {
		return err
	}
	m, err := r.multiplier(l, 2, "")
	if err != nil {
		return err
	}
	return r.fixed(l.fields[0], v[0]*m*r.model.units.length)
}

func (r *reader) tank(l line) error {
	v, err := l.numbers(1, 2)
	if err != nil {
		return err
	}
	return r.fixed(l.fields[0], (v[0]+v[1])*r.model.units.length)
}

func (r *reader) fixed(id string, head float64) error {
	return r.node(id, func() network.Node { return r.model.Network.Tank(id, quantity.Length(head), 0) }, head)
}

// ends finds the two nodes of a link and refuses a link given twice.
func (r *reader) ends(l line) (a, b network.Node, err error) {
	if len(l.fields) < 3 {
		return 0, 0, fmt.Errorf("%s: a link needs two nodes", l.fields[0])
	}
	if _, twice := r.model.Links[l.fields[0]]; twice || r.model.closed[l.fields[0]] {
		return 0, 0, fmt.Errorf("link %s is in the file twice", l.fields[0])
	}
	for i, into := range []*network.Node{&a, &b} {
		id, ok := r.model.Nodes[l.fields[i+1]]
		if !ok {
			return 0, 0, fmt.Errorf("%s: node %s is not in the file", l.fields[0], l.fields[i+1])
		}
		*into = id
	}
	r.model.LinkIDs = append(r.model.LinkIDs, l.fields[0])
	return a, b, nil
}

func (r *reader) pipe(l line) error {
	a, b, err := r.ends(l)
	if err != nil {
		return err
	}
	v, err := l.numbers(3, 3)
	if err != nil {
		return err
	}
	p := network.Pipe{Length: quantity.Length(v[0] * r.model.units.length), Bore: quantity.Length(v[1] * r.model.units.diameter), Roughness: quantity.Length(v[2] * r.model.units.roughness)}
	status := "OPEN"
	for i, f := range l.fields[6:] {
		switch word := strings.ToUpper(f); word {
		case "OPEN", "CLOSED", "CV":
			status = word
		default:
			k, err := l.numbers(6+i, 1)
			if err != nil {
				return err
			}
			p.Minor = k[0]
		}
	}
	if s, ok := r.status[l.fields[0]]; ok && status != "CV" {
		status = s
	}
	if status == "CLOSED" {
		r.model.closed[l.fields[0]] = true
		return nil
	}
	p.Check = status == "CV"
	r.model.Links[l.fields[0]] = r.model.Network.Pipe(l.fields[0], a, b, p)
	return nil
}

func (r *reader) pump(l line) error {
	a, b, err := r.ends(l)
	if err != nil {
		return err
	}
	speed, id := 1.0, ""
	for i := 3; i+1 < len(l.fields); i += 2 {
		switch word := strings.ToUpper(l.fields[i]); word {
		case "HEAD":
			id = l.fields[i+1]
		case "SPEED":
			v, err := l.numbers(i+1, 1)
			if err != nil {
				return err
			}
			speed = v[0]
		case "PATTERN":
			m, err := r.multiplier(l, i+1, "")
			if err != nil {
				return err
			}
			speed = m
		default:
			return fmt.Errorf("%s: pump by %s is not read, only by HEAD curve", l.fields[0], word)
		}
	}
	switch s := r.status[l.fields[0]]; s {
	case "CLOSED":
		speed = 0
	case "", "OPEN":
	default:
		if _, err := fmt.Sscanf(s, "%g", &speed); err != nil {
			return fmt.Errorf("%s: status %q is not OPEN, CLOSED or a speed", l.fields[0], s)
		}
	}
	if speed <= 0 {
		r.model.closed[l.fields[0]] = true
		return nil
	}
	c, err := r.pumpCurve(l.fields[0], id, speed)
	if err != nil {
		return err
	}
	r.model.Links[l.fields[0]] = r.model.Network.Pump(l.fields[0], a, b, c)
	return nil
}

// pumpCurve: one point stands for a parabola with shut-off at 4/3 of its head
// and no head at twice its flow; three points from flow zero for a power law;
// anything else is straight lines.
func (r *reader) pumpCurve(pump, id string, speed float64) (network.Curve, error) {
	points := r.curves[id]
	perHead := float64(r.model.fluid.Density) * gravity * r.model.units.length
	switch {
	case len(points) == 0:
		return nil, fmt.Errorf("%s: curve %q is not in the file", pump, id)
	case len(points) == 1:
		q, h := points[0][0], points[0][1]
		points = [][2]float64{{0, h * 4 / 3}, {q, h}, {2 * q, 0}}
	}
	if len(points) == 3 && points[0][0] == 0 {
		h0, h1, h2, q1, q2 := points[0][1], points[1][1], points[2][1], points[1][0], points[2][0]
		if !(h0 > h1 && h1 > h2 && q1 > 0 && q2 > q1) {
			return nil, fmt.Errorf("%s: the three points of curve %s do not fall steadily", pump, id)
		}
		n := math.Log((h0-h2)/(h0-h1)) / math.Log(q2/q1)
		return network.PowerLaw{Shutoff: quantity.Difference(h0 * perHead), Exponent: n, Speed: speed,
			Coefficient: (h0 - h1) * perHead / math.Pow(q1*r.model.units.flow, n)}, nil
	}
	var flow []quantity.Flow
	var rise []quantity.Difference
	for _, p := range points {
		flow = append(flow, quantity.Flow(p[0]*r.model.units.flow))
		rise = append(rise, quantity.Difference(p[1]*perHead))
	}
	t, err := network.NewTable(flow, rise, speed)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", pump, err)
	}
	return t, nil
}

func (r *reader) valve(l line) error {
	a, b, err := r.ends(l)
	if err != nil {
		return err
	}
	if len(l.fields) < 6 {
		return fmt.Errorf("%s: a valve needs diameter, type and setting", l.fields[0])
	}
	d, err := l.numbers(3, 1)
	if err != nil {
		return err
	}
	set, err := l.numbers(5, 1)
	if err != nil {
		return err
	}
	k, err := l.optional(6, 0)
	if err != nil {
		return err
	}
	if status := r.status[l.fields[0]]; status != "" {
		return fmt.Errorf("%s: a valve with the fixed status %s is not read", l.fields[0], status)
	}
	rho := float64(r.model.fluid.Density)
	setting := quantity.Gauge(set[0] * r.model.units.pressure * rho * gravity)
	bore := d[0] * r.model.units.diameter
	if !(bore > 0) {
		return fmt.Errorf("%s: diameter %g", l.fields[0], d[0])
	}
	loss := quantity.Difference(k * rho / 2)
	atOneMetrePerSecond := quantity.Flow(math.Pi / 4 * bore * bore)
	add := r.model.Network.BackPressure
	switch kind := strings.ToUpper(l.fields[4]); kind {
	case "PSV":
	case "PRV":
		add = r.model.Network.Reducing
	default:
		return fmt.Errorf("%s: valve type %s is not read, only PRV and PSV", l.fields[0], kind)
	}
	r.model.Links[l.fields[0]] = add(l.fields[0], a, b, setting, loss, atOneMetrePerSecond)
	return nil
}

// emitter discharges from a junction to the open at its elevation.
func (r *reader) emitter(l line) error {
	v, err := l.numbers(1, 1)
	if err != nil {
		return err
	}
	id, ok := r.model.Nodes[l.fields[0]]
	if !ok {
		return fmt.Errorf("node %s is not in the file", l.fields[0])
	}
	perHead := float64(r.model.fluid.Density) * gravity * r.model.units.pressure
	c := v[0] * r.model.units.flow / math.Pow(perHead, r.settings.emitterPower)
	air := r.model.Network.Tank(l.fields[0]+" outlet", quantity.Length(r.model.heads[l.fields[0]]), 0)
	r.model.Network.Orifice(l.fields[0]+" emitter", id, air, c, r.settings.emitterPower, !r.settings.emitterBackflow)
	return nil
}
