//go:build crosscheck

package crosscheck

import (
	"bufio"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"feedproof/checklist/fuel"
	"feedproof/schema/quantity"
)

type solved struct {
	Nodes map[string]float64
	Links map[string]float64
	Error string
}

// TestEngine compares the committed networks and the random ones with the
// EPANET engine, installed with npm for the run.
func TestEngine(t *testing.T) {
	folder := t.TempDir()
	names := write(t, folder)
	engine := runEngine(t, folder)
	compared, unsolved, worstHead, worstFlow := 0, 0, 0.0, 0.0
	for _, name := range names {
		theirs, ok := engine[name]
		if !ok {
			t.Errorf("%s: the engine did not answer", name)
			continue
		}
		if theirs.Error != "" {
			t.Logf("%s: the engine says %q, not compared", name, theirs.Error)
			unsolved++
			continue
		}
		head, flow := compareLive(t, name, filepath.Join(folder, name+".inp"), theirs)
		worstHead, worstFlow = math.Max(worstHead, head), math.Max(worstFlow, flow)
		compared++
	}
	t.Logf("%d networks compared, %d not solved by the engine; largest differences %.5f m, %.5f L/min", compared, unsolved, worstHead, worstFlow)
	if compared < len(names)*95/100 {
		t.Errorf("only %d of %d networks could be compared", compared, len(names))
	}
}

func write(t *testing.T, folder string) []string {
	t.Helper()
	committed, err := filepath.Glob("../../../testdata/networks/*.inp")
	if err != nil || len(committed) == 0 {
		t.Fatalf("no committed networks (%v)", err)
	}
	var names []string
	save := func(name string, text []byte) {
		if err := os.WriteFile(filepath.Join(folder, name+".inp"), text, 0o644); err != nil {
			t.Fatal(err)
		}
		names = append(names, name)
	}
	for _, file := range committed {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		save(strings.TrimSuffix(filepath.Base(file), ".inp"), text)
	}
	for seed := range uint64(Count) {
		save(fmt.Sprintf("random%03d", seed), []byte(Generate(seed)))
	}
	return names
}

func runEngine(t *testing.T, folder string) map[string]solved {
	t.Helper()
	script, err := os.ReadFile("solve.mjs")
	if err != nil {
		t.Fatal(err)
	}
	home := t.TempDir()
	if err := os.WriteFile(filepath.Join(home, "solve.mjs"), script, 0o644); err != nil {
		t.Fatal(err)
	}
	install := exec.Command("npm", "install", "--no-fund", "--no-audit", "epanet-js@0.9.0")
	install.Dir = home
	if out, err := install.CombinedOutput(); err != nil {
		t.Fatalf("npm install epanet-js: %v\n%s", err, out)
	}
	run := exec.Command("node", "solve.mjs", folder)
	run.Dir = home
	out, err := run.Output()
	if err != nil {
		t.Fatalf("node solve.mjs: %v", err)
	}
	// The engine may print warnings before the answer.
	start := strings.LastIndex(string(out), `{"version"`)
	if start < 0 {
		t.Fatalf("no answer from the engine: %.300s", out)
	}
	var answer struct {
		Version  int
		Networks map[string]solved
	}
	if err := json.Unmarshal(out[start:], &answer); err != nil {
		t.Fatal(err)
	}
	t.Logf("EPANET engine version %d", answer.Version)
	return answer.Networks
}

func compareLive(t *testing.T, name, file string, theirs solved) (worstHead, worstFlow float64) {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	m, err := Read(f)
	if err != nil {
		t.Errorf("%s: %v", name, err)
		return 0, 0
	}
	if err := m.Network.Solve(); err != nil {
		t.Errorf("%s: %v", name, err)
		return 0, 0
	}
	for id, want := range theirs.Nodes {
		d := math.Abs(m.Head(id) - want)
		worstHead = math.Max(worstHead, d)
		if d > headTolerance {
			t.Errorf("%s: head at %s is %.4f m, the engine says %.4f", name, id, m.Head(id), want)
		}
	}
	for id, want := range theirs.Links {
		got := float64(m.Flow(id)) / quantity.LPerMin
		d := math.Abs(got - want)
		worstFlow = math.Max(worstFlow, d)
		if d > math.Max(flowTolerance, flowRelative*math.Abs(want)) {
			t.Errorf("%s: flow in %s is %.5f L/min, the engine says %.5f", name, id, got, want)
		}
	}
	return worstHead, worstFlow
}

// TestFrictionLaws compares four laws with the library fluids over a grid.
func TestFrictionLaws(t *testing.T) {
	laws := []struct {
		name string
		f    fuel.Friction
	}{{"Churchill", fuel.Churchill}, {"Colebrook", fuel.Colebrook}, {"Haaland", fuel.Haaland}, {"Swamee-Jain", fuel.SwameeJain}}
	var asked [][2]float64
	for re := 4000.0; re < 1e8; re *= 1.37 {
		for _, ed := range []float64{0, 1e-5, 1.7e-4, 1e-3, 1e-2, 0.05} {
			asked = append(asked, [2]float64{re, ed})
		}
	}
	lines := runFluids(t, asked)
	compared, worst := 0, 0.0
	for i, a := range asked {
		for k, law := range laws {
			var want float64
			if _, err := fmt.Sscan(lines[i][k], &want); err != nil {
				t.Fatal(err)
			}
			off := math.Abs(law.f(a[0], a[1])/want - 1)
			worst = math.Max(worst, off)
			if off > 1e-6 {
				t.Errorf("%s at Re %g, e/D %g: %.9g, the library says %.9g", law.name, a[0], a[1], law.f(a[0], a[1]), want)
			}
			compared++
		}
	}
	t.Logf("%d factors compared, largest relative difference %.2g", compared, worst)
}

func runFluids(t *testing.T, asked [][2]float64) [][]string {
	t.Helper()
	var in strings.Builder
	for _, a := range asked {
		fmt.Fprintln(&in, a[0], a[1])
	}
	for _, python := range []string{"python3", "/usr/bin/python3"} {
		run := exec.Command(python, "friction.py")
		run.Stdin = strings.NewReader(in.String())
		out, err := run.Output()
		if err != nil {
			continue
		}
		var lines [][]string
		scan := bufio.NewScanner(strings.NewReader(string(out)))
		for scan.Scan() {
			lines = append(lines, strings.Fields(scan.Text()))
		}
		if len(lines) != len(asked)+1 {
			t.Fatalf("%d lines from the library for %d questions", len(lines), len(asked))
		}
		t.Logf("library %s", strings.Join(lines[len(asked)], " "))
		return lines
	}
	t.Fatal("no python with the library fluids; apt-get install python3-fluids")
	return nil
}
