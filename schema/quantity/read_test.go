package quantity

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestRead(t *testing.T) {
	tests := []struct {
		text string
		want Written
	}{
		{"43.5 psi", Written{"43.5", "psi"}},
		{"43.5psi", Written{"43.5", "psi"}},
		{"43,5 psi", Written{"43.5", "psi"}},
		{"0,235 bar", Written{"0.235", "bar"}}, // nobody groups thousands after a nought
		{"1234,5 cc/min", Written{"1234.5", "cc/min"}},
		{"  43.50\tpsi ", Written{"43.50", "psi"}},
		{"43.5\u00a0psi", Written{"43.5", "psi"}},
		{"20  inHg   vacuum", Written{"20", "inHg vacuum"}},
		{"-0.35 bar", Written{"-0.35", "bar"}},
		{"+5 K", Written{"+5", "K"}},
		{".5 bar", Written{".5", "bar"}},
		{"0 % LEL", Written{"0", "% LEL"}},
		{"85%", Written{"85", "%"}},
		{"-40°F", Written{"-40", "°F"}},
		{"300", Written{"300", ""}},
		{"43.5 spi", Written{"43.5", "spi"}}, // the unit is judged by Of
	}
	for _, test := range tests {
		got, err := Read(test.text)
		if err != nil {
			t.Errorf("%q: %v", test.text, err)
		}
		if diff := cmp.Diff(test.want, got); diff != "" {
			t.Errorf("%q (-want +got):\n%s", test.text, diff)
		}
	}
}

func TestReadRefuses(t *testing.T) {
	tests := []struct{ text, wrong string }{
		{"", "there is no number"},
		{"   ", "there is no number"},
		{"psi", "there is no number"},
		{"about 40 psi", "there is no number"},
		{"NaN psi", "there is no number"},
		{"Inf bar", "there is no number"},
		{"-", "not a plain number"},
		{". psi", "not a plain number"},
		{"- 5 psi", "not a plain number"},
		{"--5 psi", "not a plain number"},
		{"4.3.5 psi", "not a plain number"},
		{"1,200 cc/min", "1.200 or 1200"},
		{"-1,200 cc/min", "-1.200 or -1200"},
		{"12,500 rpm", "12.500 or 12500"},
		{"1,234.5 cc/min", "thousands"},
		{"1.234,5 cc/min", "thousands"},
		{"1,234,567 cc/min", "thousands"},
		{"1234567890123456789012345 Pa", "25 characters"},
		{"0.00000000000000000000001 bar", "25 characters"},
		{"9999999999999 bar", "absurdly large"},
		{"43.5 " + strings.Repeat("psi ", 5000), "characters"},
	}
	for _, test := range tests {
		w, err := Read(test.text)
		refusal(t, test.text, err, test.wrong)
		if !w.IsZero() {
			t.Errorf("%.40q was refused and still read as %v", test.text, w)
		}
	}
}

// refusal holds that err is an *Error that names what is wrong and fits a line.
func refusal(t *testing.T, text string, err error, wrong string) {
	t.Helper()
	var e *Error
	if !errors.As(err, &e) {
		t.Errorf("%.40q: got error %v, want an *Error about %q", text, err, wrong)
		return
	}
	if message := e.Error(); !strings.Contains(message, wrong) || len(message) > 400 {
		t.Errorf("%.40q: got %q, want it to say %q in a line", text, message, wrong)
	}
}

// parsed is one text with the SI value that an outside source gives it.
type parsed[Q Quantity] struct {
	text   string
	want   Q
	source string
}

func testParse[Q Quantity](t *testing.T, tests []parsed[Q]) {
	t.Helper()
	for _, test := range tests {
		got, err := Parse[Q](test.text)
		if err != nil {
			t.Errorf("%s: %v", test.text, err)
		}
		if math.Abs(float64(got-test.want)) > 1e-9*max(1, math.Abs(float64(test.want))) {
			t.Errorf("%s is %.12g, want %.12g (%s)", test.text, float64(got), float64(test.want), test.source)
		}
	}
}

func TestParseGauge(t *testing.T) {
	testParse(t, []parsed[Gauge]{
		{"43.5 psi", 299921.942253, "43.5 x 6894.757293168 Pa, SP 811 B.8"},
		{"43.5 psi gauge", 299921.942253, "the same"},
		{"43.5 psig", 299921.942253, "the same"},
		{"3 bar", 3e5, "definition"},
		{"3 barg", 3e5, "definition"},
		{"3.00 bar gauge", 3e5, "definition"},
		{"17.4 psi boost", 119968.776901, "17.4 x 6894.757293168 Pa, SP 811 B.8"},
		{"-0.35 bar", -35000, "definition"},
		{"20 inHg vacuum", -67727.77280682, "20 x 3386.388640341 Pa, SP 811 B.8"},
		{"20 inHg vac", -67727.77280682, "the same"},
		{"-20 inHg", -67727.77280682, "the same, as a negative gauge pressure"},
		{"7 kPa vacuum", -7000, "definition"},
		{"0 inHg vacuum", 0, "the barometer itself"},
		{"28 inH2O", 6974.48948, "28 x 249.08891 Pa, SP 811 B.8"},
	})
}

func TestParseAbsolute(t *testing.T) {
	testParse(t, []parsed[Absolute]{
		{"101.325 kPa abs", 101325, "standard atmosphere, SP 811 B.8"},
		{"29.9212555797 inHg abs", 101325, "the same in inHg, GNU units 2.22"},
		{"14.6959487755 psia", 101325, "the same in psi, SP 811 B.8"},
		{"1013.25 hPa absolute", 101325, "the same"},
		{"1.01325 bara", 101325, "the same"},
		{"2.2 bar a", 220000, "definition"},
	})
}

func TestParseOthers(t *testing.T) {
	testParse(t, []parsed[Difference]{
		{"0.35 bar", 35000, "definition"}, {"5 psid", 34473.786466, "5 x 6894.757293168 Pa, SP 811 B.8"},
		{"0.35 bar diff", 35000, "definition"}, {"-2 kPa difference", -2000, "definition"},
	})
	testParse(t, []parsed[Temperature]{
		{"-40 degC", 233.15, "SP 811 B.8: the scales meet at -40"}, {"-40 degF", 233.15, "SP 811 B.8: the scales meet at -40"},
		{"212 °F", 373.15, "SP 811 B.8: K = (F + 459.67)/1.8"}, {"0 C", 273.15, "definition"},
		{"-459.67 deg F", 0, "SP 811 B.8: K = (F + 459.67)/1.8"},
	})
	testParse(t, []parsed[TemperatureDifference]{
		{"9 degF", 5, "9 x 5/9"}, {"5 K", 5, "definition"}, {"5 degC", 5, "definition"}, {"5 °C", 5, "definition"},
	})
	testParse(t, []parsed[Torque]{
		{"100 lbf.in", 11.2984829028, "100 x 0.112984829028 N.m, SP 811 B.8"}, {"10 N.m", 10, "definition"},
		{"10 Nm", 10, "definition"}, {"1 lbf.ft", 1.3558179483, "SP 811 B.8"}, {"12 lbf in", 1.3558179483, "12 in to the foot"},
	})
	testParse(t, []parsed[Fraction]{{"85 %", 0.85, "definition"}, {"0.85 ratio", 0.85, "definition"}, {"10 % v/v", 0.1, "definition"}})
	testParse(t, []parsed[LEL]{{"0 % LEL", 0, "definition"}, {"10 %LEL", 0.1, "definition"}})
	testParse(t, []parsed[Flow]{{"255 L/h", 255e-3 / 3600, "definition"}, {"550 cc/min", 550e-6 / 60, "definition"}})
	testParse(t, []parsed[EngineSpeed]{{"7200 rpm", 120, "60 s to the minute"}})
	testParse(t, []parsed[Power]{{"402 hp", 299771.34837, "402 x 745.69987158 W, SP 811 B.8"}, {"408 PS", 300083.49, "408 x 735.49875 W, SP 811 B.8"}})
}

// refused is one text that Q must not accept.
type refused struct{ text, wrong string }

func testRefused[Q Quantity](t *testing.T, tests []refused) {
	t.Helper()
	for _, test := range tests {
		got, err := Parse[Q](test.text)
		refusal(t, test.text, err, test.wrong)
		if got != 0 {
			t.Errorf("%s was refused and still gave %v", test.text, float64(got))
		}
	}
}

func TestParseRefuses(t *testing.T) {
	testRefused[Gauge](t, []refused{
		{"43.5", "without a unit"},
		{"43.5", "43.5 psi"},
		{"20", "20 inHg vacuum"}, // vacuum, boost or kPa: the trap of a bare number
		{"43.5 spi", `"spi" is not a unit of gauge pressure`},
		{"43.5 spi", "43.5 psi"},
		{"43.5 V", `"V" is not a unit of gauge pressure`},
		{"300 kPa abs", "barometer"},
		{"43.5 psia", "barometer"},
		{"0.35 bar diff", "gauge pressure"},
		{"-20 inHg vacuum", "minus"},
		{"1e3 kPa", `"e3 kPa" is not a unit`},
		{"40-45 psi", `"-45 psi" is not a unit`},
		{"1 234 kPa", `"234 kPa" is not a unit`},
		{"0x10 psi", `"x10 psi" is not a unit`},
		{"1_000 kPa", `"_000 kPa" is not a unit`},
		{"", "there is no number"},
		{"NaN psi", "there is no number"},
	})
	testRefused[Absolute](t, []refused{
		{"101.3 kPa", "an absolute pressure must say so"},
		{"101.3 kPa", "101.3 kPa abs"},
		{"20 inHg vacuum", "not an absolute pressure"},
		{"14.7 psig", "not an absolute pressure"},
		{"101.3", "without a unit"},
		{"abs", "there is no number"},
	})
	testRefused[Difference](t, []refused{
		{"3 bar gauge", "pressure difference"},
		{"3 bar abs", "pressure difference"},
		{"2 inHg vacuum", "pressure difference"},
	})
	testRefused[LEL](t, []refused{
		{"5 %", `"%" is not a unit of gas reading`},       // % of what
		{"0.1 LEL", `"LEL" is not a unit of gas reading`}, // 10 % or 0.1 %
	})
	testRefused[Fraction](t, []refused{
		{"5 % LEL", `"% LEL" is not a unit of fraction`},
		{"85 1", `"1" is not a unit of fraction`},
		{"85", "without a unit"},
	})
	testRefused[Volume](t, []refused{{"1 L/h", `"L/h" is not a unit of volume`}})
	testRefused[Voltage](t, []refused{{"13.5 V gauge", `"V gauge" is not a unit of voltage`}, {"13.5 psig", `"psig" is not a unit of voltage`}})
	testRefused[Torque](t, []refused{{"10 lb", `"lb" is not a unit of torque`}})
}

// TestWrittenRefuses tries values that never went through [Read], as a record
// from elsewhere can hold them.
func TestWrittenRefuses(t *testing.T) {
	tests := []struct {
		written Written
		wrong   string
	}{
		{Written{"", "psi"}, "there is no number"},
		{Written{"43,5", "psi"}, "not a plain number"},
		{Written{" 43.5", "psi"}, "not a plain number"},
		{Written{"1e3", "psi"}, "not a plain number"},
		{Written{"NaN", "psi"}, "not a plain number"},
		{Written{"+", "psi"}, "not a plain number"},
		{Written{"٤٣", "psi"}, "not a plain number"},
		{Written{"43.5", ""}, "without a unit"},
		{Written{"43.5", " psi"}, "is not a unit"},
		{Written{"43.5", "psi  gauge"}, "is not a unit"},
		{Written{"43.5", "psi gauge gauge"}, "is not a unit"},
		{Written{"43.5", strings.Repeat("psi", 5000)}, "is not a unit"},
		{Written{strings.Repeat("4", 5000), "psi"}, "characters"},
	}
	for _, test := range tests {
		_, err := Of[Gauge](test.written)
		refusal(t, test.written.String(), err, test.wrong)
		refusal(t, test.written.String(), Check(test.written, dimGauge), test.wrong)
		_, err = Resolution[Gauge](test.written)
		refusal(t, test.written.String(), err, test.wrong)
	}
	if err := Check(Written{"43.5", "psi"}, dimGauge); err != nil {
		t.Error(err)
	}
}

func TestReference(t *testing.T) {
	for unit, want := range map[string]Reference{
		"psi": ReferenceNone, "psig": ReferenceGauge, "bar g": ReferenceGauge, "psi boost": ReferenceGauge,
		"kPa abs": ReferenceAbsolute, "bara": ReferenceAbsolute, "inHg vacuum": ReferenceVacuum, "psid": ReferenceDiff,
		"V": ReferenceNone, "in Hg": ReferenceNone, "": ReferenceNone,
	} {
		if got := (Written{"1", unit}).Reference(); got != want {
			t.Errorf("%q has reference %q, want %q", unit, got, want)
		}
	}
}

// TestResolution: half the last digit as written (common practice: the least
// uncertainty of a digital display, JCGM 100 F.2.2.1 takes the same half width).
func TestResolution(t *testing.T) {
	tests := []struct {
		written Written
		want    Gauge
	}{
		{Written{"43.5", "psi"}, 0.05 * PSI},
		{Written{"43.50", "psi"}, 0.005 * PSI},
		{Written{"300", "kPa"}, 500},
		{Written{"20", "inHg vacuum"}, 0.5 * InHg}, // a width has no sign
		{Written{"-0.35", "bar"}, 500},
		{Written{".5", "bar"}, 5000},
	}
	for _, test := range tests {
		got, err := Resolution[Gauge](test.written)
		if err != nil || !near(float64(got), float64(test.want), 1e-12) {
			t.Errorf("%v resolves %v Pa (%v), want %v", test.written, float64(got), err, float64(test.want))
		}
	}
	if got, err := Resolution[Temperature](Written{"68.0", "degF"}); err != nil || !near(float64(got), 0.05*5/9, 1e-12) {
		t.Errorf("68.0 degF resolves %v K (%v), want the interval without the offset", float64(got), err)
	}
}

// FuzzRead holds three laws: what is read is read again the same from its own
// print; what a type accepts is a finite number, again the same, in a spelling
// that the schemas list; and refusing is an *Error.
func FuzzRead(f *testing.F) {
	for _, text := range []string{
		"43.5 psi", "43,5psi", "20 inHg vacuum", "101.3 kPa abs", "-40 °F", "0 % LEL", "0.85 lambda", "+.5 bar g",
		"12 V", "1,234 rpm", "1e3 kPa", "", "- 5", "5 , 5", "10 lbf ft", "٣ bar", "1\u00a0bar", "5.", "-0 K", "9 US gal/h",
	} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		w, err := Read(text)
		if err != nil {
			refusal(t, text, err, "")
			return
		}
		again, err := Read(w.String())
		if err != nil || again != w {
			t.Fatalf("%q reads as %v, whose print reads as %v (%v)", text, w, again, err)
		}
		for _, k := range kinds {
			value, err := k.of(w)
			if checked := Check(w, k.dimension); (err == nil) != (checked == nil) {
				t.Fatalf("%s of %q: Of says %v, Check says %v", k.name, text, err, checked)
			}
			if err != nil {
				refusal(t, text, err, "")
				continue
			}
			if math.IsNaN(value) || math.IsInf(value, 0) {
				t.Fatalf("%s of %q is %v", k.name, text, value)
			}
			if second, err := k.of(again); err != nil || second != value {
				t.Fatalf("%s of %q is %v, then %v (%v)", k.name, text, value, second, err)
			}
			if !listed(k.dimension, w.Unit) {
				t.Fatalf("%s accepts %q, which the schemas do not list", k.name, w.Unit)
			}
		}
	})
}

func listed(d Dimension, unit string) bool {
	for _, s := range Spellings(d) {
		if s == unit {
			return true
		}
	}
	return false
}
