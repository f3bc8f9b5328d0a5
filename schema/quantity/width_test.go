package quantity

import "testing"

func TestWidth(t *testing.T) {
	gauge := []struct {
		written Written
		want    Gauge
	}{
		{Written{"0.07", "bar"}, 7000},
		{Written{"1", "psi gauge"}, PSI},
		{Written{"0.5", "inHg vacuum"}, 0.5 * InHg}, // the reference does not matter
		{Written{"0", "bar"}, 0},
		{Written{"-0.5", "bar"}, -50000}, // a step down
	}
	for _, test := range gauge {
		if got, err := Width[Gauge](test.written); err != nil || !near(float64(got), float64(test.want), 1e-12) {
			t.Errorf("%v is %v Pa wide (%v), want %v", test.written, float64(got), err, float64(test.want))
		}
	}
	for _, unit := range []string{"kPa", "kPa abs"} {
		if got, err := Width[Absolute](Written{"1", unit}); err != nil || got != 1000 {
			t.Errorf("1 %s is %v Pa wide (%v)", unit, float64(got), err)
		}
	}
	// without the offset of its zero: SP 811 B.8, 1 degF is 5/9 K
	if got, err := Width[Temperature](Written{"9", "degF"}); err != nil || !near(float64(got), 5, 1e-12) {
		t.Errorf("9 degF is %v K wide (%v)", float64(got), err)
	}
}

func TestWidthRefuses(t *testing.T) {
	for _, test := range []struct {
		written Written
		wrong   string
	}{
		{Written{"0.07", ""}, "without a unit"},
		{Written{"0.07", "V"}, `"V" is not a unit of gauge pressure`},
		{Written{"", "bar"}, "there is no number"},
	} {
		got, err := Width[Gauge](test.written)
		refusal(t, test.written.String(), err, test.wrong)
		if got != 0 {
			t.Errorf("%v was refused and still gave %v", test.written, float64(got))
		}
	}
	_, err := Width[Absolute](Written{"1", ""})
	refusal(t, "1", err, "without a unit")
	_, err = Width[Voltage](Written{"1", "V gauge"})
	refusal(t, "1 V gauge", err, `"V gauge" is not a unit of voltage`)
}
