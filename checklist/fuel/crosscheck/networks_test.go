package crosscheck

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"feedproof/schema/quantity"
)

// Agreement asked for: the reference engine itself has a floor on flow of
// 0.0017 L/min and a head error under 1e-13.
const (
	headTolerance = 0.02  // m
	flowTolerance = 0.005 // L/min, or
	flowRelative  = 0.001
)

// TestNetworks solves every *.inp of a folder and compares with results.csv
// beside it, which the EPANET engine computed (its version is in each row).
// FEEDPROOF_NETWORKS names another folder.
func TestNetworks(t *testing.T) {
	folder := os.Getenv("FEEDPROOF_NETWORKS")
	if folder == "" {
		folder = "../../../testdata/networks"
	}
	files, err := filepath.Glob(filepath.Join(folder, "*.inp"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no *.inp in %s (%v)", folder, err)
	}
	results := readResults(t, filepath.Join(folder, "results.csv"))
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".inp")
		t.Run(name, func(t *testing.T) {
			rows := results[name]
			if len(rows) == 0 {
				t.Fatalf("results.csv has no rows for %s", name)
			}
			compare(t, solveFile(t, file), rows)
		})
		delete(results, name)
	}
	for name := range results {
		t.Errorf("results.csv has rows for %s and no %s.inp is there", name, name)
	}
}

func solveFile(t *testing.T, file string) *Model {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	m, err := Read(f)
	if err != nil {
		t.Fatal(err)
	}
	if err := m.Network.Solve(); err != nil {
		t.Fatal(err)
	}
	return m
}

func readResults(t *testing.T, file string) map[string][]map[string]string {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil || len(lines) < 2 {
		t.Fatalf("%s: %d lines, %v", file, len(lines), err)
	}
	out := map[string][]map[string]string{}
	for _, l := range lines[1:] {
		row := map[string]string{}
		for i, column := range lines[0] {
			row[column] = l[i]
		}
		out[row["network"]] = append(out[row["network"]], row)
	}
	return out
}

func compare(t *testing.T, m *Model, rows []map[string]string) {
	t.Helper()
	compared := 0
	for _, row := range rows {
		id := row["element"]
		switch row["kind"] {
		case "node":
			if _, ok := m.Nodes[id]; !ok {
				t.Errorf("node %s is not in the network", id)
				continue
			}
			if want := number(t, row["epanet_head_m"]); math.Abs(m.Head(id)-want) > headTolerance {
				t.Errorf("%s: head %.5f m, the engine %.5f", id, m.Head(id), want)
			}
		case "link":
			if _, ok := m.Links[id]; !ok && !m.closed[id] {
				t.Errorf("link %s is not in the network", id)
				continue
			}
			got, want := float64(m.Flow(id))/quantity.LPerMin, number(t, row["epanet_flow_LPM"])
			if !flowAgrees(got, want) {
				t.Errorf("%s: flow %.6f L/min, the engine %.6f", id, got, want)
			}
		default:
			t.Errorf("%s: kind %q", id, row["kind"])
		}
		compared++
	}
	if compared == 0 {
		t.Error("nothing was compared")
	}
}

func flowAgrees(got, want float64) bool {
	return math.Abs(got-want) <= math.Max(flowTolerance, flowRelative*math.Abs(want))
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// BenchmarkTwelveNodes re-solves the first committed network, twelve junctions,
// after its injectors changed.
func BenchmarkTwelveNodes(b *testing.B) {
	f, err := os.Open("../../../testdata/networks/net1_series.inp")
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	m, err := Read(f)
	if err != nil {
		b.Fatal(err)
	}
	node := m.Nodes["B4"]
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		m.Network.SetDemand(node, quantity.Flow(float64(i%7)*0.1*quantity.LPerMin))
		if err := m.Network.Solve(); err != nil {
			b.Fatal(err)
		}
	}
}
