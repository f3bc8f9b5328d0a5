package quantity

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// factors is one of each unit in SI, as GNU units 2.22 prints it
// (units -t -d 15 EXPRESSION, the expression being the second column). Third,
// where it lists the unit, NIST SP 811 (2008) appendix B.8 as printed, 7
// digits, from memory. The dimension "pressure" stands for the three of them.
var factors = []struct {
	dimension  Dimension
	symbol     string
	expression string
	si         float64
	printed    float64 // 0 where SP 811 does not list it
}{
	{"pressure", "bar", "bar", 1e5, 1.0e5},
	{"pressure", "psi", "psi", 6894.75729316836, 6.894757e3},
	{"pressure", "kPa", "kPa", 1000, 0},
	{"pressure", "mbar", "mbar", 100, 1.0e2},
	{"pressure", "inHg", "inHg", 3386.388640341, 3.386389e3},
	{"pressure", "inH2O", "inH2O", 249.08891, 2.490889e2},
	{dimFlow, "L/h", "l/hour", 2.77777777777778e-07, 0},
	{dimFlow, "L/min", "l/min", 1.66666666666667e-05, 0},
	{dimFlow, "gph", "usgallon/hour", 1.05150327333333e-06, 0},
	{dimFlow, "cc/min", "cm^3/min", 1.66666666666667e-08, 0},
	{dimMassFlow, "kg/h", "kg/hour", 0.000277777777777778, 0},
	{dimMassFlow, "lb/h", "lb/hour", 0.000125997880555556, 1.259979e-4},
	{dimMassFlow, "g/min", "g/min", 1.66666666666667e-05, 0},
	{dimMassFlow, "g/s", "g/s", 0.001, 0},
	{dimMassFlow, "lb/min", "lb/min", 0.00755987283333333, 7.559873e-3},
	{dimTemperature, "degC", "tempC(1)", 274.15, 0},
	{dimTemperature, "degF", "tempF(1)", 255.927777777778, 0},
	{dimTemperature, "K", "K", 1, 0},
	{dimTemperatureDif, "K", "K", 1, 0},
	{dimTemperatureDif, "degF", "degF", 0.555555555555556, 5.555556e-1},
	{dimVoltage, "V", "V", 1, 0},
	{dimVoltage, "mV", "mV", 0.001, 0},
	{dimCurrent, "A", "A", 1, 0},
	{dimCurrent, "mA", "mA", 0.001, 0},
	{dimResistance, "ohm", "ohm", 1, 0},
	{dimResistance, "mohm", "milliohm", 0.001, 0},
	{dimResistance, "kohm", "kiloohm", 1000, 0},
	{dimResistance, "Mohm", "megaohm", 1e6, 0},
	{dimPower, "kW", "kW", 1000, 0},
	{dimPower, "hp", "hp", 745.69987158227, 7.456999e2},
	{dimPower, "PS", "metrichorsepower", 735.49875, 7.354988e2},
	{dimPower, "W", "W", 1, 0},
	{dimLength, "mm", "mm", 0.001, 0},
	{dimLength, "m", "m", 1, 0},
	{dimLength, "cm", "cm", 0.01, 0},
	{dimLength, "in", "in", 0.0254, 2.54e-2},
	{dimLength, "ft", "ft", 0.3048, 3.048e-1},
	{dimLength, "km", "km", 1000, 0},
	{dimLength, "mi", "mile", 1609.344, 1.609344e3},
	{dimLength, "um", "micron", 1e-06, 1.0e-6},
	{dimArea, "mm2", "mm^2", 1e-06, 0},
	{dimVolume, "L", "l", 0.001, 1.0e-3},
	{dimVolume, "mL", "ml", 1e-06, 0},
	{dimVolume, "gal", "usgallon", 0.003785411784, 3.785412e-3},
	{dimMass, "kg", "kg", 1, 0},
	{dimMass, "g", "g", 0.001, 0},
	{dimMass, "lb", "lb", 0.45359237, 4.535924e-1},
	{dimDensity, "kg/L", "kg/l", 1000, 0},
	{dimDensity, "kg/m3", "kg/m^3", 1, 0},
	{dimViscosity, "mm2/s", "mm^2/s", 1e-06, 1.0e-6},
	{dimTorque, "N.m", "N m", 1, 0},
	{dimTorque, "lbf.ft", "lbf ft", 1.3558179483314, 1.355818},
	{dimTorque, "lbf.in", "lbf in", 0.112984829027617, 1.129848e-1},
	{dimSpeed, "m/s", "m/s", 1, 0},
	{dimSpeed, "ft/s", "ft/s", 0.3048, 3.048e-1},
	{dimSpeed, "km/h", "km/hour", 0.277777777777778, 2.777778e-1},
	{dimAcceleration, "g", "gravity", 9.80665, 9.80665},
	{dimAcceleration, "m/s2", "m/s^2", 1, 0},
	{dimEngineSpeed, "rpm", "1/min", 0.0166666666666667, 0},
	{dimDuration, "s", "s", 1, 0},
	{dimDuration, "ms", "ms", 0.001, 0},
	{dimDuration, "min", "min", 60, 6.0e1},
	{dimDuration, "h", "hour", 3600, 3.6e3},
	{dimFraction, "%", "percent", 0.01, 0},
	{dimFraction, "ratio", "1", 1, 0},
	{dimLEL, "% LEL", "percent", 0.01, 0},
	{dimLambda, "lambda", "1", 1, 0},
	{dimConsumption, "kg/kWh", "kg/kWh", 2.77777777777778e-07, 0},
	{dimConsumption, "g/kWh", "g/kWh", 2.77777777777778e-10, 0},
	{dimConsumption, "lb/(hp.h)", "lb/(hp hour)", 1.68965941067156e-07, 1.689659e-7},
	{dimSpecificEnergy, "MJ/kg", "MJ/kg", 1e6, 0},
	{dimSpecificEnergy, "kJ/kg", "kJ/kg", 1000, 0},
	{dimAngle, "deg", "degree", 0.0174532925199433, 1.745329e-2},
}

func shared(d Dimension) Dimension {
	if _, isPressure := accepted[d]; isPressure {
		return "pressure"
	}
	return d
}

func TestFactors(t *testing.T) {
	used := map[int]bool{}
	for _, k := range kinds {
		for _, symbol := range Symbols(k.dimension) {
			t.Run(k.name+"/"+symbol, func(t *testing.T) {
				row := -1
				for i, f := range factors {
					if f.dimension == shared(k.dimension) && f.symbol == symbol {
						row = i
					}
				}
				if row < 0 {
					t.Fatal("no outside value in the table")
				}
				used[row] = true
				f := factors[row]
				got, err := k.of(k.write(f.si, symbol, 0)) // 1 of the unit
				if err != nil {
					t.Fatal(err)
				}
				if !near(got, f.si, 1e-14) {
					t.Errorf("1 %s is %.15g, GNU units has %.15g for %s", symbol, got, f.si, f.expression)
				}
				if f.printed != 0 && !near(got, f.printed, 1e-6) {
					t.Errorf("1 %s is %.15g, SP 811 prints %.7g", symbol, got, f.printed)
				}
			})
		}
	}
	for i, f := range factors {
		if !used[i] {
			t.Errorf("%s %s is not a unit of the package", f.dimension, f.symbol)
		}
	}
}

// near reports that got is within a relative tolerance of want.
func near(got, want, relative float64) bool {
	return math.Abs(got-want) <= relative*math.Abs(want)
}

// inUnit reads text as Q and gives it in another unit.
func inUnit[Q Quantity](t *testing.T, text, symbol string) float64 {
	t.Helper()
	q, err := Parse[Q](text)
	if err != nil {
		t.Fatal(err)
	}
	return In(q, symbol)
}

// published computes each row of t12_checks.csv with the package. Where the
// row's unit is not one of ours it is made from ones that are, by definition.
var published = map[string]func(t *testing.T) []float64{
	"u_1_bar_psi": func(t *testing.T) []float64 { return []float64{inUnit[Difference](t, "1 bar", "psi")} },
	"u_1_inHg_(conventional)_kPa": func(t *testing.T) []float64 {
		return []float64{inUnit[Gauge](t, "1 inHg", "kPa")}
	},
	// the standard atmosphere is 101 325 Pa exactly (SP 811 B.8)
	"u_1_atm_psi":         func(t *testing.T) []float64 { return []float64{inUnit[Absolute](t, "101.325 kPa abs", "psi")} },
	"u_1_psi_inHg":        func(t *testing.T) []float64 { return []float64{inUnit[Gauge](t, "1 psi", "inHg")} },
	"u_1_gal(US)/h_Lph":   func(t *testing.T) []float64 { return []float64{inUnit[Flow](t, "1 gph", "L/h")} },
	"u_1_gal(US)/min_Lph": func(t *testing.T) []float64 { return []float64{inUnit[Flow](t, "60 gph", "L/h")} },
	"u_1_lb/h_kgph":       func(t *testing.T) []float64 { return []float64{inUnit[MassFlow](t, "1 lb/h", "kg/h")} },
	"u_1_lb/h_gps":        func(t *testing.T) []float64 { return []float64{inUnit[MassFlow](t, "1 lb/h", "g/s")} },
	"u_1_metric_hp_kW":    func(t *testing.T) []float64 { return []float64{inUnit[Power](t, "1 metric hp", "kW")} },
	"u_1_lb/(hp_h)_gpkWh": func(t *testing.T) []float64 { return []float64{inUnit[SpecificConsumption](t, "1 lb/(hp.h)", "g/kWh")} },
	"u_1_gal(UK)_L":       imperialGallon,
	"u_1_Btu(IT)_kJ":      britishThermalUnit,
	"lbh_ccmin":           injectorRating,
}

// imperialGallon: there is none among our units, so that it is never taken
// for ours; it is 277.4194 in3 (SP 811 B.8: 4.546 09 L exactly).
func imperialGallon(t *testing.T) []float64 {
	for _, text := range []string{"1 gal(UK)", "1 UK gal", "1 imperial gal", "1 gal (imp)"} {
		if v, err := Parse[Volume](text); err == nil {
			t.Errorf("%s was read as %s", text, Text(v))
		}
	}
	return []float64{inUnit[Volume](t, "1 gal", "L") * 277.41943279 / 231}
}

// britishThermalUnit: 4.1868 kJ/(kg.K) x 1 lb x 1 degF (SP 811, footnote to Btu_IT).
func britishThermalUnit(t *testing.T) []float64 {
	pound, degree := inUnit[Mass](t, "1 lb", "kg"), inUnit[TemperatureDifference](t, "1 degF", "K")
	return []float64{4.1868 * pound * degree}
}

// injectorRating: 1 lb/h as a volume flow at the two densities of the row.
func injectorRating(t *testing.T) []float64 {
	var out []float64
	for _, density := range []string{"0.745 kg/L", "0.720 g/cc"} {
		m, errM := Parse[MassFlow]("1 lb/h")
		rho, errRho := Parse[Density](density)
		if errM != nil || errRho != nil {
			t.Fatal(errM, errRho)
		}
		out = append(out, In(Flow(float64(m)/float64(rho)), "cc/min"))
	}
	return out
}

// TestPublishedConversions tries every row of topic 12: NIST SP 811 (2008)
// appendix B.8, computed with pint 0.19.2 and GNU units 2.22.
func TestPublishedConversions(t *testing.T) {
	file, err := os.Open("../../testdata/published/t12_checks.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatalf("%d rows: %v", len(rows), err)
	}
	column := map[string]int{}
	for i, name := range rows[0] {
		column[name] = i
	}
	tried := map[string]bool{}
	for _, row := range rows[1:] {
		cell := func(name string) string { return row[column[name]] }
		id := cell("id")
		tried[id] = true
		t.Run(id, func(t *testing.T) {
			compute, ok := published[id]
			if !ok {
				t.Fatalf("no computation for %q of %s", cell("inputs"), id)
			}
			tolerance := number(t, strings.Fields(cell("tolerance"))[0])
			wants := strings.Split(cell("output"), "|")
			gots := compute(t)
			if len(gots) != len(wants) {
				t.Fatalf("computed %v, published %v", gots, wants)
			}
			for i, want := range wants {
				if !near(gots[i], number(t, want), tolerance) {
					t.Errorf("%s is %.12g %s, published %s (%s)", cell("inputs"), gots[i], cell("unit"), want, cell("source"))
				}
			}
		})
	}
	for id := range published {
		if !tried[id] {
			t.Errorf("%s is not in the published table", id)
		}
	}
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	f, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	if err != nil {
		t.Fatal(err)
	}
	return f
}
