package crosscheck

import (
	"strings"
	"testing"
)

// TestRandomNetworks solves every random network. A solution is returned only
// after both conservation laws were checked on it; they are checked again here
// after a second solve from the first one.
func TestRandomNetworks(t *testing.T) {
	for seed := range uint64(Count) {
		text := Generate(seed)
		if text != Generate(seed) {
			t.Fatalf("seed %d: two different networks", seed)
		}
		m, err := Read(strings.NewReader(text))
		if err != nil {
			t.Fatalf("seed %d: %v\n%s", seed, err, text)
		}
		if err := m.Network.Solve(); err != nil {
			t.Errorf("seed %d: %v\n%s", seed, err, text)
			continue
		}
		before := map[string]float64{}
		for _, id := range m.Order {
			before[id] = m.Head(id)
		}
		if err := m.Network.Solve(); err != nil {
			t.Errorf("seed %d, solved again: %v", seed, err)
		}
		for id, h := range before {
			if d := m.Head(id) - h; d > 1e-4 || d < -1e-4 {
				t.Errorf("seed %d: %s moved by %g m when solved again", seed, id, d)
			}
		}
	}
}
