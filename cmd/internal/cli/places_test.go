package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

func TestUseOptions(t *testing.T) {
	fills(t, newUseCommand,
		line[useOptions]{args: "tech-1", want: useOptions{person: "tech-1"}},
		line[useOptions]{args: "tech-1|--bay|2|--units|us|--language|en", want: useOptions{person: "tech-1", bay: "2", moved: true, units: "us", language: "en"}},
		line[useOptions]{args: "tech-1|--bay|", want: useOptions{person: "tech-1", moved: true}},
		line[useOptions]{args: "tech-1|2", fault: "2: is one word too many"},
	)
}

func TestRunUse(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "", runUse, useOptions{person: "SR"}, "tech-1 (Sam Reed) is on bench-1, bay 2")
	says(t, dir, "", runUse, useOptions{person: "SR", bay: "3", moved: true, units: "us"}, "tech-1 (Sam Reed) is on bench-1, bay 3")
	d := desktest.At(t, dir, "")
	if who, err := d.Who(); err != nil || who.Person != "tech-1" || d.Device().Bay != "3" || d.Habits("tech-1").System != "us" {
		t.Errorf("%v: %s in bay %s with %+v", err, who.Person, d.Device().Bay, d.Habits("tech-1"))
	}
	says(t, dir, "", runUse, useOptions{person: "SR", moved: true}, "is on bench-1\n")
	answers(t, dir, "", runUse, useOptions{person: "lead-1"}, "name", "who")
	refuses(t, dir, "", runUse, useOptions{person: "tech-1", units: "cubits"}, desk.Usage, `--units: "cubits" is not one of`)
	refuses(t, dir, "", runUse, useOptions{person: "tech-9"}, desk.Usage, "person tech-9: is not in this shop")
}

func TestBayOptions(t *testing.T) {
	fills(t, newBayCommand,
		line[bayOptions]{args: "2|--air|hall|--neighbour|1,3|--distance|4 m", want: bayOptions{one: true, data: schema.BayData{Bay: "2", AirSpace: "hall", Neighbours: []string{"1", "3"}, Distance: quantityOf[quantity.Length]("4", "m")}}},
		line[bayOptions]{args: "", want: bayOptions{one: true}}, // a bay without a name, which is refused
		line[bayOptions]{args: "2|--distance|4", fault: "number without a unit"},
		line[bayOptions]{args: "2|3", fault: "arg(s)"},
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
	says(t, dir, "tech-1", runBay, bayOptions{}, "3\n2\thall\t1 3\t4 m\n")
	if bays := listed(t, dir, "tech-1", runBay, bayOptions{}); len(bays) != 2 {
		t.Errorf("%d bays, want 2", len(bays))
	}
	refuses(t, dir, "tech-9", runBay, bayOptions{one: true, data: schema.BayData{Bay: "4"}}, desk.Usage, "person tech-9: is not in this shop")
}

func TestLimitOptions(t *testing.T) {
	fills(t, newLimitCommand,
		line[limitOptions]{args: "L06|0.05 bar|--why|customer cars only", want: limitOptions{words: []string{"L06", "0.05 bar"}, why: "customer cars only"}},
		line[limitOptions]{args: "L06|0.05|bar", want: limitOptions{words: []string{"L06", "0.05", "bar"}}},
		line[limitOptions]{args: "L06|--because|so", fault: "unknown flag: --because"},
	)
}

func TestRunLimit(t *testing.T) {
	dir := desktest.Shop(t)
	set := limitOptions{words: []string{"l06", "0.05", "bar"}, why: "customer cars only"}
	says(t, dir, "lead-1", runLimit, set, "limit L06: 0.05 bar in this shop from now on")
	says(t, dir, "tech-1", runLimit, limitOptions{}, "L06\t0.05 bar\tcustomer cars only\n")
	if limits := listed(t, dir, "tech-1", runLimit, limitOptions{}); len(limits) != 1 {
		t.Errorf("%d limits, want 1", len(limits))
	}
	refuses(t, dir, "tech-1", runLimit, set, desk.Refused, "may not write a limit")
	refuses(t, dir, "lead-1", runLimit, limitOptions{words: []string{"L06", "little"}, why: "so"}, desk.Usage, "limit L06: ")
	refuses(t, dir, "lead-1", runLimit, limitOptions{words: []string{"L06", "0.05 bar"}}, desk.Usage, "--why: is missing")
}
