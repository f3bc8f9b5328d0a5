package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

func TestBayOptions(t *testing.T) {
	fills(t, newBayCommand,
		line[bayOptions]{args: "2|--air|hall|--neighbour|1,3|--distance|4 m", want: bayOptions{one: true, data: schema.BayData{Bay: "2", AirSpace: "hall", Neighbours: []string{"1", "3"}, Distance: quantityOf[quantity.Length]("4", "m")}}},
		line[bayOptions]{args: "", want: bayOptions{one: true}}, // a bay without a name, which is refused
		line[bayOptions]{args: "2|--distance|4", fault: "number without a unit"},
		line[bayOptions]{args: "2|3", fault: "3: is one word too many"},
	)
}

func TestRunBay(t *testing.T) {
	dir := desktest.Shop(t)
	if bays := listed(t, dir, "tech-1", runBay, bayOptions{}); len(bays) != 0 {
		t.Errorf("%d bays, want none", len(bays))
	}
	says(t, dir, "lead-1", runBay, bayOptions{one: true, data: schema.BayData{Bay: "2", AirSpace: "yard"}}, "bay 2: recorded")
	answers(t, dir, "lead-1", runBay, bayOptions{one: true, data: schema.BayData{Bay: "3"}}, "record", "id", "facts")
	says(t, dir, "lead-1", runBay, bayOptions{one: true, data: schema.BayData{Bay: "2", AirSpace: "hall", Neighbours: []string{"1", "3"}, Distance: quantityOf[quantity.Length]("4", "m")}}, "bay 2: recorded")
	says(t, dir, "tech-1", runBay, bayOptions{}, "3\n2\thall\t1 3\t4 m\tbench-1: as here\n")
	if bays := listed(t, dir, "tech-1", runBay, bayOptions{}); len(bays) != 2 {
		t.Errorf("%d bays, want 2", len(bays))
	}
	refuses(t, dir, "tech-9", runBay, bayOptions{one: true, data: schema.BayData{Bay: "4"}}, desk.Usage, "person tech-9: is not in this shop")
}

func TestProgramOfABay(t *testing.T) {
	ours := schema.Knowledge()
	for want, knows := range map[string][]string{
		"": nil, "bay-2: as here": ours, "bay-2: behind, lacks 2 things that this one writes": ours[2:],
		"bay-2: ahead of this machine, update it":         append([]string{"vehicle hologram"}, ours...),
		"bay-2: another than here, lacks 1, knows 1 more": append([]string{"vehicle hologram"}, ours[1:]...),
	} {
		if got := programOf(schema.BayData{Device: "bay-2", Knows: knows}); got != want {
			t.Errorf("says %q, want %q", got, want)
		}
	}
}
