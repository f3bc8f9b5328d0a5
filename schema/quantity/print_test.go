package quantity

import (
	"math"
	"testing"
)

func TestFormat(t *testing.T) {
	tests := []struct{ got, want string }{
		{Format(Gauge(3e5), "psi", 1), "43.5 psi"},
		{Format(Gauge(3e5), "bar", 2), "3.00 bar"},
		{Format(Gauge(3e5), "bar gauge", 2), "3.00 bar gauge"},
		{Format(Gauge(-67727.77280682), "inHg", 1), "-20.0 inHg"},
		{Format(Gauge(-67727.77280682), "inHg vacuum", 1), "20.0 inHg vacuum"},
		{Format(Absolute(101325), "kPa", 1), "101.3 kPa abs"},
		{Format(Absolute(101325), "kPa abs", 1), "101.3 kPa abs"},
		{Format(Absolute(101325), "psia", 1), "14.7 psia"},
		{Format(Celsius(20), "degF", 1), "68.0 degF"},
		{Format(Torque(10), "lbf.in", 1), "88.5 lbf.in"},
		{Text(Gauge(3e5)), "3.00 bar"},
		{Text(Absolute(101325)), "101.3 kPa abs"},
		{Text(LEL(0)), "0.0 % LEL"},
		{Text(Lambda(0.85)), "0.850 lambda"},
		{Text(Fraction(0.85)), "85.0 %"},
		{Text(Celsius(-0.04)), "0.0 degC"}, // never "-0.0"
		{TextIn(Gauge(3e5), "psi"), "43.5 psi"},
		{TextIn(Absolute(101325), "inHg"), "29.9 inHg abs"},
		{TextIn(Absolute(101325), "inHg abs"), "29.9 inHg abs"},
		{TextIn(Gauge(-67727.77280682), "inHg vacuum"), "20.0 inHg vacuum"},
		{Write(Gauge(-67727.77280682), "inHg vacuum", 1).String(), "20.0 inHg vacuum"},
		{Write(Absolute(101325), "kPa abs", 1).String(), "101.3 kPa abs"},
		{Write(Absolute(101325), "kPa", 1).String(), "101.3 kPa abs"},
		// a unit that does not fit is not printed as if it did
		{Format(Gauge(3e5), "V", 1), "? V"},
		{Format(Gauge(3e5), "kPa abs", 1), "? kPa abs"},
		{Format(Absolute(3e5), "psig", 1), "? psig"},
		{Format(Difference(3e5), "inHg vacuum", 1), "? inHg vacuum"},
		{TextIn(Gauge(3e5), "V"), "? V"},
		{Format(Gauge(math.NaN()), "bar", 1), "? bar"},
		{Format(Gauge(math.Inf(1)), "bar", 1), "? bar"},
	}
	for _, test := range tests {
		if test.got != test.want {
			t.Errorf("got %q, want %q", test.got, test.want)
		}
	}
}

// TestRounding: a half goes away from zero, and is seen although binary
// numbers and conversions miss it by a hair.
func TestRounding(t *testing.T) {
	tests := []struct {
		value    float64
		decimals int
		want     string
	}{
		{0.5, 0, "1"}, {1.5, 0, "2"}, {2.5, 0, "3"}, {-2.5, 0, "-3"},
		{0.125, 2, "0.13"}, {-0.125, 2, "-0.13"},
		{1.005, 2, "1.01"}, // the nearest float64 is 1.00499999999999989
		{0.15, 1, "0.2"}, {0.35, 1, "0.4"},
		{0.14999, 1, "0.1"}, {-0.04, 1, "0.0"}, {0, 2, "0.00"},
		{999.95, 1, "1000.0"}, {1e12, 0, "1000000000000"}, {123456789.05, 1, "123456789.1"},
	}
	for _, test := range tests {
		if got := fixed(test.value, test.decimals); got != test.want {
			t.Errorf("%v to %d decimals is %s, want %s", test.value, test.decimals, got, test.want)
		}
	}
}

func TestIn(t *testing.T) {
	if got := In(Gauge(-3386.388640341), "inHg vacuum"); !near(got, 1, 1e-12) {
		t.Errorf("1 inHg of vacuum is %v", got)
	}
	for _, symbol := range []string{"V", "", "kPa abs", "psia", "bar diff"} {
		if got := In(Gauge(1e5), symbol); !math.IsNaN(got) {
			t.Errorf("a gauge pressure in %q is %v, want NaN", symbol, got)
		}
	}
}

// TestPressuresAndTemperatures tries the few operations between types.
func TestPressuresAndTemperatures(t *testing.T) {
	const barometer = Absolute(101325) // standard atmosphere, SP 811 B.8
	if got := Gauge(-67727.77280682).Above(barometer); !near(float64(got), 33597.22719318, 1e-12) {
		t.Errorf("20 inHg of vacuum is %v Pa absolute", float64(got))
	}
	if got := Absolute(221325).Over(barometer); got != 120000 {
		t.Errorf("221.325 kPa abs is %v Pa gauge", float64(got))
	}
	if got := Gauge(5e5).Minus(1.2e5); got != 3.8e5 {
		t.Errorf("5 bar less 1.2 bar is %v Pa", float64(got))
	}
	if got := Gauge(3e5).Plus(1.2e5); got != 4.2e5 {
		t.Errorf("3 bar and 1.2 bar more is %v Pa", float64(got))
	}
	if got := Celsius(100).Minus(Celsius(0)); got != 100 {
		t.Errorf("from ice to steam is %v K", float64(got))
	}
	if got := Temperature(310.15).Celsius(); !near(got, 37, 1e-12) {
		t.Errorf("310.15 K is %v degC", got)
	}
}
