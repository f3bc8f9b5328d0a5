package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
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
