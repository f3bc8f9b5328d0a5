package network

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	q "feedproof/schema/quantity"
)

// poiseuille is laminar at every Reynolds number, so that answers have closed forms.
func poiseuille(re, _ float64) (float64, float64) { return 64 / re, -1 }

// blasius is laminar, and 0.316/Re^0.25 from where the two laws cross.
func blasius(re, _ float64) (float64, float64) {
	if re < math.Pow(64/0.316, 4.0/3) {
		return 64 / re, -1
	}
	return 0.316 / math.Sqrt(math.Sqrt(re)), -0.25
}

func gasoline(f Friction) Fluid { return Fluid{Density: 745, Viscosity: 0.6e-6, Friction: f} }

var hose = Pipe{Length: 2, Bore: 8.7 * q.MM, Minor: 3}

func solve(t testing.TB, n *Network) {
	t.Helper()
	if err := n.Solve(); err != nil {
		t.Fatal(err)
	}
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s is %.9g, want %.9g", what, got, want)
	}
}

// Hagen-Poiseuille: q = pi D^4 dp/(128 mu L).
func TestLaminarPipe(t *testing.T) {
	n := New(gasoline(poiseuille))
	a, b := n.Tank("a", 0, 100), n.Tank("b", 0, 0)
	p := n.Pipe("pipe", a, b, Pipe{Length: 3, Bore: 8 * q.MM})
	solve(t, n)
	near(t, "flow", float64(n.Flow(p)), math.Pi*math.Pow(8e-3, 4)*100/(128*745*0.6e-6*3), 1e-12)
}

// Two equal hoses from tank to tank at different heights: the level difference drives.
func TestGravityDrivesFlow(t *testing.T) {
	n := New(gasoline(poiseuille))
	high, low := n.Tank("high", 1, 0), n.Tank("low", 0, 0)
	middle := n.Junction("middle", 0.2, 0)
	a := n.Pipe("a", high, middle, Pipe{Length: 1, Bore: 4 * q.MM})
	b := n.Pipe("b", middle, low, Pipe{Length: 1, Bore: 4 * q.MM})
	solve(t, n)
	near(t, "balance", float64(n.Flow(a)-n.Flow(b)), 0, 1e-13)
	near(t, "middle", float64(n.Pressure(middle)), 745*q.G*(0.5-0.2), 1e-2)
}

// Orifice: q = C sqrt(dp), and nothing back.
func TestOrifice(t *testing.T) {
	n := New(gasoline(blasius))
	rail, plenum := n.Tank("rail", 0, 3e5), n.Tank("manifold", 0, 1e5)
	i := n.Orifice("injector", rail, plenum, 2e-8, 0.5, true)
	solve(t, n)
	near(t, "flow", float64(n.Flow(i)), 2e-8*math.Sqrt(2e5), 1e-14)
	n.SetTank(plenum, 4e5)
	solve(t, n)
	near(t, "flow back", float64(n.Flow(i)), 0, 1e-11)
	n.SetOrifice(i, 0)
	n.SetTank(plenum, 0)
	solve(t, n)
	near(t, "flow when shut", float64(n.Flow(i)), 0, 1e-11)
}

func TestCheckValveHoldsBack(t *testing.T) {
	n := New(gasoline(blasius))
	low, high := n.Tank("low", 0, 0), n.Tank("high", 0, 2e5)
	middle := n.Junction("middle", 0, 0)
	check := n.Pipe("check", low, middle, Pipe{Length: 1, Bore: 8 * q.MM, Check: true})
	n.Pipe("open", middle, high, hose)
	solve(t, n)
	near(t, "flow", float64(n.Flow(check)), 0, 1e-11)
	near(t, "behind it", float64(n.Pressure(middle)), 2e5, 1)
}

// rig is pump, hose, rail with a draw, regulator, return.
type rig struct {
	*Network
	pump, regulator  Link
	outlet, rail, in Node
}

func newRig(kind string, setting q.Gauge, returnTo q.Gauge) rig {
	n := New(gasoline(blasius))
	tank, back := n.Tank("tank", 0, 0), n.Tank("return tank", 0, returnTo)
	r := rig{Network: n}
	r.outlet, r.rail, r.in = n.Junction("outlet", 0, 0), n.Junction("rail", 0, 3e-5), n.Junction("behind", 0, 0)
	r.pump = n.Pump("pump", tank, r.outlet, PowerLaw{Shutoff: 7e5, Coefficient: 3e13, Exponent: 2, Speed: 1})
	n.Pipe("feed", r.outlet, r.rail, hose)
	if kind == "back" {
		r.regulator = n.BackPressure("regulator", r.rail, r.in, setting, 0, 0)
	} else {
		r.regulator = n.Reducing("regulator", r.rail, r.in, setting, 0, 0)
	}
	n.Pipe("return", r.in, back, hose)
	return r
}

func TestBackPressureStates(t *testing.T) {
	for _, c := range []struct {
		name     string
		setting  q.Gauge
		returnTo q.Gauge
		holds    bool
		flows    bool
	}{
		{"holds", 3e5, 0, true, true},
		{"shut below its setting", 6.9e5, 0, false, false},
		{"wide open when the return stands above it", 3e5, 4e5, false, true},
	} {
		r := newRig("back", c.setting, c.returnTo)
		solve(t, r.Network)
		if r.Holding(r.regulator) != c.holds || (r.Flow(r.regulator) > 1e-9) != c.flows {
			t.Errorf("%s: holds %v, flow %v", c.name, r.Holding(r.regulator), r.Flow(r.regulator))
		}
		if c.holds {
			near(t, c.name, float64(r.Pressure(r.rail)), float64(c.setting), 1e-3)
		}
		near(t, c.name+", mass", float64(r.Flow(r.pump)-r.Flow(r.regulator)), 3e-5, 1e-10)
	}
}

func TestReducingStates(t *testing.T) {
	for _, c := range []struct {
		name     string
		setting  q.Gauge
		returnTo q.Gauge
		holds    bool
		flows    bool
	}{
		{"holds", 1e4, 0, true, true},
		{"wide open when it cannot reach its setting", 6.9e5, 0, false, true},
		{"shut when the far side stands above all", 3e5, 8e5, false, false},
	} {
		r := newRig("reducing", c.setting, c.returnTo)
		solve(t, r.Network)
		if r.Holding(r.regulator) != c.holds || (r.Flow(r.regulator) > 1e-9) != c.flows {
			t.Errorf("%s: holds %v, flow %v", c.name, r.Holding(r.regulator), r.Flow(r.regulator))
		}
		if c.holds {
			near(t, c.name, float64(r.Pressure(r.in)), float64(c.setting), 1e-3)
		}
	}
}

// Settings changed after a solution are followed, there and back.
func TestSolvedAgain(t *testing.T) {
	r := newRig("back", 3e5, 0)
	solve(t, r.Network)
	before := r.Flow(r.pump)
	for _, setting := range []q.Gauge{6.9e5, 2e5, 3e5} {
		r.SetRegulator(r.regulator, setting)
		solve(t, r.Network)
	}
	near(t, "flow", float64(r.Flow(r.pump)), float64(before), 1e-11)
	r.SetPump(r.pump, PowerLaw{Shutoff: 7e5, Coefficient: 3e13, Exponent: 2, Speed: 0.9})
	solve(t, r.Network)
	if r.Flow(r.pump) >= before {
		t.Errorf("a slower pump gives %v, before %v", r.Flow(r.pump), before)
	}
}

func TestSolvingAgainAllocatesNothing(t *testing.T) {
	r := newRig("back", 3e5, 0)
	solve(t, r.Network)
	draw := q.Flow(3e-5)
	if n := testing.AllocsPerRun(100, func() {
		draw += 1e-8
		r.SetDemand(r.rail, draw)
		if err := r.Solve(); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

func TestPumpTable(t *testing.T) {
	c, err := NewTable([]q.Flow{1e-5, 5e-5, 9e-5}, []q.Difference{6e5, 5e5, 2e5}, 1)
	if err != nil {
		t.Fatal(err)
	}
	for flow, want := range map[q.Flow]float64{1e-5: 6e5, 3e-5: 5.5e5, 7e-5: 3.5e5, 0: 6.25e5, 10e-5: 1.25e5} {
		got, slope := c.Rise(flow)
		near(t, "rise", float64(got), want, 1e-6)
		if slope >= 0 {
			t.Errorf("slope %g at %v", slope, flow)
		}
	}
	for _, bad := range [][2][]float64{{{1}, {1}}, {{1, 2}, {1, 2}}, {{2, 1}, {2, 1}}, {{1, 2}, {1}}} {
		var f []q.Flow
		var p []q.Difference
		for _, v := range bad[0] {
			f = append(f, q.Flow(v))
		}
		for _, v := range bad[1] {
			p = append(p, q.Difference(v))
		}
		if _, err := NewTable(f, p, 1); err == nil {
			t.Errorf("%v passes", bad)
		}
	}
}

func TestFaultsNameTheElement(t *testing.T) {
	for say, build := range map[string]func(n *Network){
		"no tank is connected to a, b": func(n *Network) {
			a, b := n.Junction("a", 0, 0), n.Junction("b", 0, 0)
			n.Pipe("loop 1", a, b, hose)
			n.Pipe("loop 2", b, a, hose)
		},
		"hose 7 has a bore": func(n *Network) { n.Pipe("hose 7", n.Tank("a", 0, 0), n.Tank("b", 0, 0), Pipe{Length: 1}) },
		"hose 8 has neither length nor loss": func(n *Network) {
			n.Pipe("hose 8", n.Tank("a", 0, 0), n.Tank("b", 0, 0), Pipe{Bore: 1})
		},
		"short begins and ends at the same node": func(n *Network) {
			a := n.Tank("a", 0, 0)
			n.Pipe("short", a, a, hose)
		},
		"stray joins a node that does not exist": func(n *Network) { n.Pipe("stray", n.Tank("a", 0, 0), 99, hose) },
		"regulator would hold the pressure of a tank": func(n *Network) {
			n.BackPressure("regulator", n.Tank("a", 0, 0), n.Junction("b", 0, 0), 1, 0, 0)
		},
		"one and two both hold the pressure at rail": func(n *Network) {
			rail, tank := n.Junction("rail", 0, 0), n.Tank("tank", 0, 0)
			n.BackPressure("one", rail, tank, 1e5, 0, 0)
			n.BackPressure("two", rail, tank, 1e5, 0, 0)
		},
		"pump 3 has no curve":                  func(n *Network) { n.Pump("pump 3", n.Tank("a", 0, 0), n.Junction("b", 0, 0), nil) },
		"filter needs a drop":                  func(n *Network) { n.Loss("filter", n.Tank("a", 0, 0), n.Tank("b", 0, 0), 0, 0, false) },
		"injector has the coefficient -1":      func(n *Network) { n.Orifice("injector", n.Tank("a", 0, 0), n.Tank("b", 0, 0), -1, 0.5, true) },
		"a fluid needs density, viscosity and": func(n *Network) { *n = *New(Fluid{}) },
	} {
		n := New(gasoline(blasius))
		build(n)
		if err := n.Solve(); err == nil || !strings.Contains(err.Error(), say) {
			t.Errorf("%v, want %q in it", err, say)
		}
	}
}

// A pump curve that rises with flow has no stable answer: the error names an element.
func TestNoAnswerNamesTheElement(t *testing.T) {
	n := New(gasoline(blasius))
	tank, out := n.Tank("tank", 0, 0), n.Junction("out", 0, 0)
	n.Pump("odd pump", tank, out, jumpy{})
	n.Pipe("hose", out, tank, hose)
	if err := n.Solve(); err == nil || !strings.Contains(err.Error(), "odd pump") && !strings.Contains(err.Error(), "hose") {
		t.Errorf("%v, want an element named", err)
	}
}

// jumpy is a curve that steps up and down so that no flow fits it.
type jumpy struct{}

func (jumpy) Rise(f q.Flow) (q.Difference, float64) {
	if f > 2e-5 {
		return 0, -1e9
	}
	return 6e5, -1e9
}

// Random trees with loops, tanks, orifices and check valves: every solution
// obeys both laws, computed here from the parts and not by the solver.
func TestConservation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := New(gasoline(blasius))
		nodes := []Node{n.Tank("tank", 0, q.Gauge(rapid.Float64Range(0, 5e5).Draw(t, "tank")))}
		demand := map[Node]float64{}
		type pipe struct {
			id       Link
			from, to Node
			p        Pipe
		}
		var pipes []pipe
		add := func(from, to Node) {
			p := Pipe{Length: q.Length(rapid.Float64Range(0.1, 4).Draw(t, "L")), Bore: q.Length(rapid.Float64Range(4, 16).Draw(t, "D") * q.MM), Minor: rapid.Float64Range(0, 10).Draw(t, "K"), Check: rapid.IntRange(0, 5).Draw(t, "check") == 0}
			if len(pipes) < 3 {
				p.Check = false
			}
			pipes = append(pipes, pipe{n.Pipe("pipe", from, to, p), from, to, p})
		}
		for range rapid.IntRange(2, 12).Draw(t, "junctions") {
			d := rapid.Float64Range(-1e-5, 2e-5).Draw(t, "demand")
			j := n.Junction("junction", q.Length(rapid.Float64Range(-1, 1).Draw(t, "z")), q.Flow(d))
			demand[j] = d
			nodes = append(nodes, j)
			from := nodes[rapid.IntRange(0, len(nodes)-2).Draw(t, "from")]
			p := Pipe{Length: 1, Bore: 8 * q.MM}
			pipes = append(pipes, pipe{n.Pipe("pipe", from, j, p), from, j, p})
		}
		for range rapid.IntRange(0, 6).Draw(t, "loops") {
			a, b := rapid.SampledFrom(nodes).Draw(t, "a"), rapid.SampledFrom(nodes).Draw(t, "b")
			if a != b {
				add(a, b)
			}
		}
		if err := n.Solve(); err != nil {
			t.Fatal(err)
		}
		balance := map[Node]float64{}
		for _, p := range pipes {
			f := float64(n.Flow(p.id))
			balance[p.from] -= f
			balance[p.to] += f
			if p.p.Check && f < 1e-11 {
				continue
			}
			if off := float64(n.Drop(p.id)) - darcy(p.p, f); math.Abs(off) > 0.2 {
				t.Fatalf("along a pipe with %g m3/s the laws disagree by %g Pa", f, off)
			}
		}
		for j, d := range demand {
			if math.Abs(balance[j]-d) > 1e-11 {
				t.Fatalf("node %d gains %g, drawn %g", j, balance[j], d)
			}
		}
	})
}

// darcy is (f L/D + K) rho V|V|/2 for the test's fluid, written out once more.
func darcy(p Pipe, flow float64) float64 {
	d := float64(p.Bore)
	v := flow / (math.Pi / 4 * d * d)
	re := math.Abs(v) * d / 0.6e-6
	if re < 1e-6 {
		return 0
	}
	f, _ := blasius(re, 0)
	return (f*float64(p.Length)/d + p.Minor) * 745 * v * math.Abs(v) / 2
}

// SetPump changes the curve of a pump.
func (n *Network) SetPump(id Link, c Curve) { n.links[id].curve = c }

// SetRegulator changes the setting of a regulator.
func (n *Network) SetRegulator(id Link, setting q.Gauge) {
	n.links[id].setting = float64(setting)
}
