package fuel

import (
	"fmt"
	"math"
	"regexp"
	"strings"

	q "feedproof/schema/quantity"
)

// input finds a number by a pattern with one group in the row's inputs, then in
// its quantity and id.
func (r checkRow) input(pattern string) (float64, error) {
	shape := regexp.MustCompile(pattern)
	for _, column := range []string{"inputs", "quantity", "id"} {
		if m := shape.FindStringSubmatch(r[column]); m != nil {
			v := mustNumber(m[1])
			if !math.IsNaN(v) {
				return v, nil
			}
		}
	}
	return 0, fmt.Errorf("%s: %q does not say %s", r.key(), r["inputs"], pattern)
}

const num = `([-+]?\d*\.?\d+(?:[eE][-+]?\d+)?)`

// inputsOf finds several numbers; # stands for a number in each pattern.
func (r checkRow) inputsOf(patterns ...string) ([]float64, error) {
	var out []float64
	for _, p := range patterns {
		v, err := r.input(strings.Replace(p, "#", num, 1))
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, nil
}

// convert answers with a function of numbers found by patterns.
func convert(f func(v []float64) ([]float64, error), patterns ...string) func(checkRow) ([]float64, error) {
	return func(r checkRow) ([]float64, error) {
		v, err := r.inputsOf(patterns...)
		if err != nil {
			return nil, err
		}
		return f(v)
	}
}

// one wraps a single answer.
func one[Q ~float64](v Q, err error) ([]float64, error) { return []float64{float64(v)}, err }

func kelvin(celsius float64) q.Temperature { return q.Temperature(celsius + 273.15) }

// btuPerPound is exact: 2326 J/kg.
const btuPerPound = 2326.0

// Heating values and densities read in the US DOE fuel properties table.
const (
	doeEthanol         = 11585 * btuPerPound
	btu                = 1055.05585262
	doeGasolinePerGal  = 116090
	doeEthanolPerGal   = 76330
	ethanolComposition = "C2H6O1"
)

// molecules by name, for rows that name a fuel.
var molecules = map[string]string{
	"ethanol": "C2H6O1", "methanol": "CH4O1", "n-heptane": "C7H16", "toluene": "C7H8", "iso-octane": "C8H18", "isooctane": "C8H18",
	"benzene": "C6H6", "n-hexane": "C6H14", "n-octane": "C8H18", "n-pentane": "C5H12", "o-xylene": "C8H10", "cyclohexane": "C6H12",
}

var fuelFamilies = []family{
	rows("t01", `afr_pub_.*`, func(r checkRow) ([]float64, error) {
		for _, c := range []Constituent{Gasoline, Ethanol, Methanol} {
			if c.Name == r["inputs"] {
				return one(c.Stoichiometric, nil)
			}
		}
		return nil, fmt.Errorf("no constituent %q", r["inputs"])
	}),
	rows("t01", `afr_.*`, func(r checkRow) ([]float64, error) {
		formula, _, _ := strings.Cut(r["inputs"], ";")
		c, err := ParseComposition(formula)
		if err != nil {
			return nil, err
		}
		return one(c.Stoichiometric())
	}),
	rows("t01", `lhv_thermo_.*`, func(r checkRow) ([]float64, error) {
		formation, err := r.input(`Hf\(l\)=` + num)
		if err != nil {
			return nil, err
		}
		c, err := ParseComposition(molecules[strings.TrimPrefix(r["id"], "lhv_thermo_")])
		return one(c.LowerHeatingValue(formation)/q.MJPerKg, err)
	}),
	rows("t01", `rho_(ethanol|water)_.*`, convert(func(v []float64) ([]float64, error) { return one(EthanolDensity(q.Fraction(v[1]), kelvin(v[0]))) }, `t=# C`, `p=#`)),
	rows("t01", `alpha15_.*`, convert(func(v []float64) ([]float64, error) { return one(ExpansionCoefficient(q.Density(v[0]))) }, `rho15=#`)),
	rows("t01", `vcf54b_.*`, convert(func(v []float64) ([]float64, error) { return one(VolumeCorrection(q.Density(v[0]), kelvin(v[1]))) }, `rho15=#`, `t=# C`)),
	rows("t01", `ctl04_.*`, convert(func(v []float64) ([]float64, error) {
		return one(VolumeCorrection60F(q.Density(v[0]), fahrenheit(v[1])))
	}, `rho60F=#`, `t=# F`)),
	rows("t01", `nu_.*`, func(r checkRow) ([]float64, error) {
		name, at, err := named(r)
		if err != nil {
			return nil, err
		}
		if name == "gasoline" {
			nu, err := GasolineViscosity(at)
			return one(nu/q.MM2PerS, err)
		}
		l, err := PureLiquid(name)
		if err != nil {
			return nil, err
		}
		nu, err := l.Viscosity(at)
		return one(nu/q.MM2PerS, err)
	}),
	rows("t01", `blend_.*`, blendRow),
	rows("t01", `afdc_blend_.*`, convert(func(v []float64) ([]float64, error) {
		perVolume := func(c Constituent, perGallon float64) Constituent {
			c.HeatingValue = q.SpecificEnergy(perGallon * btu / q.GallonUS / float64(c.Density))
			return c
		}
		b, err := Mix(perVolume(Gasoline, doeGasolinePerGal), perVolume(Ethanol, doeEthanolPerGal), q.Fraction(v[0]))
		return one(b.HeatingValueByVolume()*q.GallonUS/btu, err)
	}, `# ethanol`)),
}

// named reads "ethanol, 20 C", "ethanol, 68 F" or "gasoline 68 F".
func named(r checkRow) (string, q.Temperature, error) {
	m := regexp.MustCompile(`^([a-z-]+),? ` + num + ` ([CF])$`).FindStringSubmatch(r["inputs"])
	if m == nil {
		return "", 0, fmt.Errorf("%q is not a fuel and a temperature", r["inputs"])
	}
	t := mustNumber(m[2])
	if m[3] == "F" {
		return m[1], fahrenheit(t), nil
	}
	return m[1], kelvin(t), nil
}

// blendRow reads "0.10 vol ethanol (rho 793.51) + gasoline (rho 745, CH1.87, 18676 Btu/lb)".
func blendRow(r checkRow) ([]float64, error) {
	v, err := r.inputsOf(`# vol ethanol`, `ethanol \(rho #`, `gasoline \(rho #`, `# Btu/lb`)
	if err != nil {
		return nil, err
	}
	m := regexp.MustCompile(`CH[0-9.]+`).FindString(r["inputs"])
	afr := func(formula string) (AirFuelRatio, error) {
		c, err := ParseComposition(formula)
		if err != nil {
			return 0, err
		}
		return c.Stoichiometric()
	}
	gasoline, alcohol := Gasoline, Ethanol
	gasoline.Density, alcohol.Density = q.Density(v[2]), q.Density(v[1])
	gasoline.HeatingValue, alcohol.HeatingValue = q.SpecificEnergy(v[3]*btuPerPound), doeEthanol
	if gasoline.Stoichiometric, err = afr(m); err != nil {
		return nil, err
	}
	if alcohol.Stoichiometric, err = afr(ethanolComposition); err != nil {
		return nil, err
	}
	b, err := Mix(gasoline, alcohol, q.Fraction(v[0]))
	return []float64{float64(b.Density), float64(b.AlcoholByMass), float64(b.Stoichiometric), float64(b.HeatingValue) / q.MJPerKg, b.HeatingValueByVolume() / 1e9}, err
}

var demandFamilies = []family{
	rows("t02", `conv_bsfc.*`, func(r checkRow) ([]float64, error) {
		return []float64{mustNumber(r["inputs"]) * q.LbPerHPH / q.GPerKWh}, nil
	}),
	rows("t02", `bsfc_\d.*`, convert(func(v []float64) ([]float64, error) {
		b := q.SpecificConsumption(v[0] * q.LbPerHPH)
		return []float64{float64(b) / q.GPerKWh, float64(FuelConversionEfficiency(b, q.SpecificEnergy(v[1]*q.MJPerKg)))}, nil
	}, `# lb/\(hp h\)`, `LHV # MJ/kg`)),
	rows("t02", `demand_\d+`, demandRow),
	rows("t02", `demand_air.*`, airRow),
}

// airRow reads displacement, volumetric efficiency, speed, pressure and
// temperature, and gives the air and then, where asked, the fuel it burns.
func airRow(r checkRow) ([]float64, error) {
	v, err := r.inputsOf(`# L(?:[ ,;]|$)`, `VE[ =]*#`, `# rpm`)
	if err != nil {
		return nil, err
	}
	pressure, err := r.input(num + ` kPa`)
	if err != nil {
		return nil, err
	}
	charge, err := r.input(num + ` K(?:[ ,;]|$)`)
	if err != nil {
		if charge, err = r.input(num + ` C(?:[ ,;]|$)`); err != nil {
			return nil, err
		}
		charge += 273.15
	}
	air, err := AirFlow(q.Volume(v[0]*q.Litre), q.Fraction(v[1]), q.Absolute(pressure*q.KPa), q.Temperature(charge), q.EngineSpeed(v[2]*q.RPM))
	if err != nil || len(outputs(r["output"])) == 1 {
		return one(air, err)
	}
	mix, err := r.inputsOf(`lambda[ =]*#`, `AFR[a-z_]*[ =]*#`)
	if err != nil {
		return nil, err
	}
	fuel := FuelForAir(air, q.Lambda(mix[0]), AirFuelRatio(mix[1]))
	out := []float64{float64(air)}
	for _, part := range strings.Split(r["output"]+" | "+r["unit"], "|")[1:len(outputs(r["output"]))] {
		switch {
		case strings.Contains(part, "kg/s"):
			out = append(out, float64(fuel))
		case strings.Contains(part, "kg/h"):
			out = append(out, float64(fuel)/q.KgPerH)
		default:
			return nil, fmt.Errorf("output %q has no known unit", part)
		}
	}
	return out, nil
}

// demandRow reads "500 hp, BSFC 0.55 lb/(hp h), rho 745" and gives each output
// in the unit printed beside it.
func demandRow(r checkRow) ([]float64, error) {
	parse := func(units map[string]float64) (float64, error) {
		for unit, factor := range units {
			if v, err := r.input(num + ` ` + regexp.QuoteMeta(unit) + `(?:[, ]|$)`); err == nil {
				return v * factor, nil
			}
		}
		return 0, fmt.Errorf("%q: a unit is missing", r["inputs"])
	}
	p, err := parse(map[string]float64{"hp": q.HP, "kW": q.KW, "PS": q.PS})
	if err != nil {
		return nil, err
	}
	bsfc, err := parse(map[string]float64{"lb/(hp h)": q.LbPerHPH, "g/kWh": q.GPerKWh, "kg/kWh": q.KgPerKWh})
	if err != nil {
		return nil, err
	}
	rho, err := r.input(`rho ` + num)
	if err != nil {
		return nil, err
	}
	m := FuelForPower(q.Power(p), q.SpecificConsumption(bsfc))
	in := map[string]float64{"lb/h": float64(m) / q.LbPerH, "kg/h": float64(m) / q.KgPerH, "L/h": float64(VolumeFlow(m, q.Density(rho))) / q.LPerH,
		"gph": float64(VolumeFlow(m, q.Density(rho))) / q.GPH, "g/min": float64(m) / q.GPerMin, "cc/min": float64(VolumeFlow(m, q.Density(rho))) / q.CCPerMin}
	var out []float64
	for _, part := range strings.Split(r["output"], "|") {
		fields := strings.Fields(part)
		v, known := in[fields[len(fields)-1]]
		if !known {
			return nil, fmt.Errorf("output %q has no known unit", part)
		}
		out = append(out, v)
	}
	return out, nil
}

var injectorFamilies = []family{
	rows("t03", `sqrt_dp_.*`, convert(func(v []float64) ([]float64, error) {
		return one(OrificeFlow(q.Flow(v[0]*q.CCPerMin), q.Difference(v[1]*q.KPa), q.Difference(v[2]*q.KPa), 700, 700)/q.CCPerMin, nil)
	}, `# cc/min`, `at # kPa`, `-> # kPa`)),
	rows("t03", `sqrt_rho_.*`, convert(func(v []float64) ([]float64, error) {
		i := Injectors{Count: 1, StaticFlow: 1e-5, RatedDifference: 3 * q.Bar, TestFluid: q.Density(v[1])}
		m, err := i.Static(q.Density(v[0]), 3*q.Bar)
		volume := OrificeFlow(1, 1, 1, q.Density(v[1]), q.Density(v[0]))
		return []float64{float64(volume), float64(m) / (1e-5 * v[1])}, err
	}, `rho=#`, `\(# kg/m3\)`)),
	rows("t03", `tcyc_.*`, convert(func(v []float64) ([]float64, error) {
		n := q.EngineSpeed(v[0] * q.RPM)
		return []float64{float64(CycleTime(n)) / q.MS, float64(LoggedDuty(q.Duration(v[1]*q.MS), n, 1)) * 100}, nil
	}, `# rpm`, `for # ms`)),
	rows("t03", `duty_check.*`, convert(func(v []float64) ([]float64, error) {
		return one(LoggedDuty(q.Duration(v[0]*q.MS), q.EngineSpeed(v[1]*q.RPM), 1)*100, nil)
	}, `PW # ms`, `# rpm`)),
	rows("t03", `reg_boost.*`, convert(func(v []float64) ([]float64, error) {
		r := Regulator{Base: q.Gauge(v[0] * q.KPa), Kind: Referenced}
		rail := func(g float64) float64 { return float64(r.Rail(SeaLevel+q.Absolute(g*q.KPa), SeaLevel)) / q.KPa }
		return []float64{rail(v[1]), rail(v[2])}, nil
	}, `base # kPa`, `manifold # kPa`, `\| # kPa`)),
}

var airFamilies = []family{
	rows("t15", `sae_.*`, convert(func(v []float64) ([]float64, error) {
		p, t := q.Absolute(v[0]*q.Mbar), kelvin(v[1])
		sae, err := SAECorrection(p, t)
		if err != nil {
			return nil, err
		}
		iso, err := ISOCorrection(p, t)
		return []float64{float64(sae), float64(iso)}, err
	}, `# hPa`, `# C`)),
}
