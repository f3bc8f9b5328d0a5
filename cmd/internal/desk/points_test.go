package desk_test

import (
	"errors"
	"strings"
	"testing"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
)

// What a hold point waits for refuses its closing, with the findings and with
// the car's name in what to do next.
func TestClosing(t *testing.T) {
	d := desktest.At(t, desktest.Shop(t), "tech-1")
	c, err := d.Car("kestrel")
	if err != nil {
		t.Fatal(err)
	}
	p, a, err := d.HoldPoint(c, "hp0")
	if err != nil || p.ID != "HP0" || p.State != checklist.PointOpen || len(a.Points) == 0 {
		t.Fatalf("%+v %v", p, err)
	}
	for _, x := range []struct {
		point, second string
		delayed       bool
		kind          desk.Kind
		text          string
	}{
		{"HP0", "", false, desk.Refused, "HP0 stays locked: "},
		{"HP0", "SR", true, desk.Refused, "HP0 stays locked: "},
		{"HP0", "nobody", false, desk.Usage, "nobody: is not in this shop"},
		{"HP99", "", false, desk.Usage, "hold point HP99: is not known"},
	} {
		_, err := d.Closing(c, x.point, x.second, x.delayed)
		var got *desk.Error
		if !errors.As(err, &got) || got.Kind != x.kind || !strings.Contains(err.Error(), x.text) {
			t.Errorf("%+v: %v", x, err)
			continue
		}
		if x.kind == desk.Refused && len(got.Found) == 0 {
			t.Errorf("%+v: refused without what is missing", x)
		}
		for _, f := range got.Found {
			if strings.Contains(f.Next, " CAR") {
				t.Errorf("%s: %q does not name the car", f.Rule, f.Next)
			}
		}
	}
}
