package crosscheck

import (
	"fmt"
	"math/rand/v2"
	"strings"
)

// Count is how many random networks are compared.
const Count = 200

// Generate writes the network of a seed, the same one every time. Even seeds
// are fuel systems: pumps, feed, one to three rails in series or parallel,
// injectors as emitters over a manifold pressure, and a regulator before or
// after the rails. Odd seeds are meshes of pipes with demands, check valves
// and one or two tanks.
func Generate(seed uint64) string {
	g := &generator{random: rand.New(rand.NewPCG(seed, 20260301)), sections: map[string]*strings.Builder{}}
	if seed%2 == 0 {
		g.fuelSystem()
	} else {
		g.mesh()
	}
	return g.text(seed)
}

type generator struct {
	random   *rand.Rand
	sections map[string]*strings.Builder
	pipes    int
}

func (g *generator) line(section, format string, args ...any) {
	if g.sections[section] == nil {
		g.sections[section] = &strings.Builder{}
	}
	fmt.Fprintf(g.sections[section], " "+format+"\n", args...)
}

func (g *generator) between(low, high float64) float64 { return low + (high-low)*g.random.Float64() }

func (g *generator) pick(values ...float64) float64 { return values[g.random.IntN(len(values))] }

func (g *generator) junction(id string, elevation, demand float64) string {
	g.line("JUNCTIONS", "%s %.4f %.4f", id, elevation, demand)
	return id
}

func (g *generator) pipe(from, to string, length, bore float64, status string) {
	g.pipes++
	g.line("PIPES", "L%d %s %s %.4f %.3f 0.0015 %.2f %s", g.pipes, from, to, length, bore, g.between(0, 6), status)
}

// bore is a hose or rail size in mm.
func (g *generator) bore() float64 { return g.pick(5.6, 7.94, 8.7, 10.3, 11.1, 14.2) }

// pumps adds one or two pumps of one curve and speed. At two speeds the slower
// one could shut, and the engine then leaks head/1e8 ft3/s through it, 0.005
// L/min at 96 m, without showing it as flow.
func (g *generator) pumps(from, to string) {
	h0, q2 := g.between(80, 130), g.between(10, 20)
	g.line("CURVES", "C 0 %.4f", h0)
	g.line("CURVES", "C %.4f %.4f", q2*g.between(0.45, 0.65), h0*g.between(0.5, 0.75))
	g.line("CURVES", "C %.4f %.4f", q2, h0*g.between(0.05, 0.3))
	speed := g.between(0.85, 1.05)
	for k := range 1 + g.random.IntN(2) {
		g.line("PUMPS", "PU%d %s %s HEAD C SPEED %.3f", k, from, to, speed)
	}
}

func (g *generator) fuelSystem() {
	manifold := g.pick(0, 0, g.between(-8, 25))
	g.line("RESERVOIRS", "T 0")
	g.line("RESERVOIRS", "T2 0")
	p := g.junction("P", 0, 0)
	g.pumps("T", p)
	feed := g.junction("F", 0, 0)
	g.pipe(p, feed, g.between(1, 5), g.pick(8.7, 11.1), g.checked())
	setting := g.between(35, 45)
	returnless := g.random.IntN(3) == 0
	if returnless {
		after := g.junction("G", manifold, 0)
		g.line("VALVES", "REG %s %s 8 PRV %.4f 0", feed, after, setting)
		feed = after
	}
	ends := g.rails(feed, manifold)
	if returnless {
		return
	}
	v, w := g.junction("V", manifold, 0), g.junction("W", 0, 0)
	for _, e := range ends {
		g.pipe(e, v, g.between(0.2, 1), g.pick(8.7, 11.1), "Open")
	}
	g.line("VALVES", "REG %s %s 8 PSV %.4f 0", v, w, setting)
	g.pipe(w, "T2", g.between(2, 5), g.pick(5.6, 8.7), "Open")
}

func (g *generator) checked() string {
	if g.random.IntN(2) == 0 {
		return "CV"
	}
	return "Open"
}

// rails adds rails with their injectors and returns their far ends.
func (g *generator) rails(feed string, manifold float64) []string {
	count, series := 1+g.random.IntN(3), g.random.IntN(2) == 0
	injectors := 2 + g.random.IntN(3)
	coefficient := g.between(0.03, 0.15)
	from := feed
	var ends []string
	for r := range count {
		last := from
		for i := range injectors {
			id := g.junction(fmt.Sprintf("R%dI%d", r, i), manifold, 0)
			g.line("EMITTERS", "%s %.6f", id, coefficient*g.between(0.97, 1.03))
			if i == 0 {
				g.pipe(last, id, g.between(0.2, 1.2), g.pick(7.94, 8.7, 11.1), "Open")
			} else {
				g.pipe(last, id, 0.1, 14, "Open")
			}
			last = id
		}
		if series {
			from = last
		} else {
			ends = append(ends, last)
		}
	}
	if series {
		ends = []string{from}
	}
	return ends
}

func (g *generator) mesh() {
	n := 5 + g.random.IntN(10)
	g.line("RESERVOIRS", "T %.3f", g.between(0, 3))
	names := make([]string, n)
	for i := range names {
		names[i] = g.junction(fmt.Sprintf("J%d", i), g.between(-1, 1), g.between(0, 8/float64(n)))
		if i == 0 {
			continue
		}
		g.pipe(names[g.random.IntN(i)], names[i], g.between(0.2, 4), g.bore(), "Open")
	}
	g.pumps("T", names[0])
	for range g.random.IntN(n) {
		a, b := g.random.IntN(n), g.random.IntN(n)
		if a != b {
			g.pipe(names[a], names[b], g.between(0.2, 4), g.bore(), g.checkedSometimes())
		}
	}
	if g.random.IntN(2) == 0 {
		g.line("RESERVOIRS", "U %.3f", g.between(20, 60))
		g.pipe(names[n-1], "U", g.between(1, 4), g.bore(), "Open")
	}
	for i := range names {
		if g.random.IntN(4) == 0 {
			g.line("EMITTERS", "%s %.6f", names[i], g.between(0.005, 0.05))
		}
	}
}

func (g *generator) checkedSometimes() string {
	if g.random.IntN(4) == 0 {
		return "CV"
	}
	return "Open"
}

func (g *generator) text(seed uint64) string {
	viscosity := g.pick(0.6e-6, 1.3e-6, 3.4e-6)
	var b strings.Builder
	fmt.Fprintf(&b, "[TITLE]\nrandom network %d\n", seed)
	for _, name := range []string{"JUNCTIONS", "RESERVOIRS", "PIPES", "PUMPS", "VALVES", "EMITTERS", "CURVES"} {
		if s := g.sections[name]; s != nil {
			fmt.Fprintf(&b, "[%s]\n%s", name, s.String())
		}
	}
	fmt.Fprintf(&b, "[OPTIONS]\n UNITS LPM\n HEADLOSS D-W\n SPECIFIC GRAVITY 1\n VISCOSITY %.6e\n TRIALS 500\n ACCURACY 0.00001\n"+
		" HEADERROR 0.000001\n FLOWCHANGE 0.000001\n EMITTER EXPONENT 0.5\n UNBALANCED STOP\n[TIMES]\n DURATION 0\n[REPORT]\n STATUS NO\n[END]\n", viscosity)
	return b.String()
}
