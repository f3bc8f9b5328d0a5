package fuel

import (
	"fmt"
	"math"
	"regexp"
	"strings"

	q "feedproof/schema/quantity"
)

var lineFamilies = []family{
	rows("t04", `K_exp_.*`, convert(func(v []float64) ([]float64, error) { return one(SuddenExpansion(q.Length(v[0]), 1), nil) }, `d1/d2=#`)),
	rows("t04", `K_entr`, func(checkRow) ([]float64, error) { return one(MinorLoss("square entrance")) }),
	rows("t04", `K_.*`, func(r checkRow) ([]float64, error) {
		name, _, _ := strings.Cut(r["inputs"], ",")
		return one(MinorLoss(name))
	}),
	rows("t04", `rough_plastic`, func(checkRow) ([]float64, error) { return one(SmoothHose/q.MM, nil) }),
	rows("t04", `hose_.*`, func(r checkRow) ([]float64, error) {
		dash, err := r.input(`(?:dash |_-)(\d+)`)
		if err != nil {
			return nil, err
		}
		named := r["quantity"] + " " + r["inputs"] + " " + r["id"]
		spec := HoseSpecification(regexp.MustCompile(`MIL-H-\d+`).FindString(named))
		if sae := regexp.MustCompile(`100R\d+`).FindString(named); sae != "" {
			spec = HoseSpecification("SAE " + sae)
		}
		bore, err := HoseBore(spec, int(dash))
		return one(bore/q.MM, err)
	}),
	rows("t04", `dp_.*`, convert(gradient, `rho=#`, `nu=#`, `d=#`, `Q=#`, `e=#`)),
	rows("t04", `ft_crane_.*`, convert(func(v []float64) ([]float64, error) { return one(Colebrook(1e12, steelRoughness/v[0]), nil) }, `D=#`)),
	// The book's g is 9.81 m/s2 and 32.2 ft/s2.
	rows("t04", `white_6_7`, convert(func(v []float64) ([]float64, error) {
		f := Colebrook(v[4], v[3]*q.MM/v[2])
		speed := float64(Velocity(q.Flow(v[0]), q.Length(v[2])))
		return []float64{f, f * v[1] / v[2] * speed * speed / (2 * 9.81)}, nil
	}, `# m3/s`, `# m,`, `d # m`, `e # mm`, `Re #`)),
	rows("t04", `white_6_6`, convert(func(v []float64) ([]float64, error) {
		f := Colebrook(v[3], v[2])
		return []float64{f, f * v[4] / (v[1] / 12) * v[0] * v[0] / (2 * 32.2)}, nil
	}, `water # ft/s`, `# in `, `e/d #`, `Re #`, `# ft$`)),
}

// steelRoughness is clean commercial steel, 0.0457 mm (White, Moody; from memory).
const steelRoughness = 0.0457e-3

// gradient answers V, Re, f and dp per metre, by Moody's chart and by Churchill.
func gradient(v []float64) ([]float64, error) {
	fuel := Blend{Density: q.Density(v[0]), Viscosity: q.Viscosity(v[1] * q.MM2PerS)}
	l := Line{Bore: q.Length(v[2] * q.MM), Length: 1, Roughness: q.Length(v[4] * q.MM), Friction: Moody}
	moody := l.Loss(q.Flow(v[3]*q.LPerH), fuel)
	l.Friction = nil
	churchill := l.Loss(q.Flow(v[3]*q.LPerH), fuel)
	return []float64{float64(moody.Velocity), moody.Reynolds, moody.Factor, churchill.Factor, moody.Gradient(1) / q.KPa, churchill.Gradient(1) / q.KPa}, nil
}

// curvePoints reads "(0,100) (8,60) (14,10)".
func curvePoints(text string) ([][2]float64, error) {
	var out [][2]float64
	for _, m := range regexp.MustCompile(`\(`+num+`,`+num+`\)`).FindAllStringSubmatch(text, -1) {
		out = append(out, [2]float64{mustNumber(m[1]), mustNumber(m[2])})
	}
	if len(out) != 3 {
		return nil, fmt.Errorf("%q is not three points", text)
	}
	return out, nil
}

var pumpFamilies = []family{
	rows("t06", `affinity_DOE.*`, convert(func(v []float64) ([]float64, error) {
		flow, head, power := Affinity(q.Fraction(v[1]/v[0]), q.Flow(v[2]), q.Difference(v[3]), q.Power(v[4]))
		return []float64{float64(flow), float64(head), float64(power)}, nil
	}, `# ->`, `-> # rpm`, `# gpm`, `# ft`, `# kW`)),
	rows("t06", `affinity_[0-9.]+`, convert(func(v []float64) ([]float64, error) {
		flow, head, power := Affinity(q.Fraction(v[0]), 1, 1, 1)
		return []float64{float64(flow), float64(head), float64(power)}, nil
	}, `speed ratio #`)),
	rows("t06", `pump_powerlaw.*`, func(r checkRow) ([]float64, error) {
		p, err := curvePoints(r["inputs"])
		if err != nil {
			return nil, err
		}
		c, err := FitPowerCurve(p[0][1], p[1][0], p[1][1], p[2][0], p[2][1])
		return []float64{c.H0, c.R, c.N}, err
	}),
	// The row's curve is the one of pump_powerlaw.
	rows("t06", `parallel_2.*`, convert(func(v []float64) ([]float64, error) {
		c, err := FitPowerCurve(100, 8, 60, 14, 10)
		return one(c.Head(v[0]/2), err)
	}, `q=#`)),
	rows("t06", `series_2.*`, convert(func(v []float64) ([]float64, error) {
		c, err := FitPowerCurve(100, 8, 60, 14, 10)
		return one(2*c.Head(v[0]), err)
	}, `q=#`)),
	rows("t06", `dc_.*`, convert(func(v []float64) ([]float64, error) {
		return one(MotorSpeedRatio(q.Voltage(v[0]), q.Voltage(v[3]), q.Current(v[2]), q.Resistance(v[1])), nil)
	}, `V=#`, `R=#`, `I=#`, `ref # V`)),
}

var vapourFamilies = []family{
	rows("t07", `ap42_AB_.*`, convert(func(v []float64) ([]float64, error) {
		a, b, err := VapourConstants(q.Absolute(v[0]*q.PSI), v[1])
		return []float64{a, b}, err
	}, `RVP #`, `S #`)),
	rows("t07", `ap42_eq_.*`, trueVapourPressure),
	// The equation meets the table, another edition of it, within what the rows of the equation say.
	{"t07", regexp.MustCompile(`^ap42_tab_.*$`), trueVapourPressure, "2.5 %"},
	rows("t07", `etoh_niosh`, convert(func(v []float64) ([]float64, error) {
		p, err := EthanolAntoine.Pressure(fahrenheit(v[0]))
		return one(p/q.InHg*25.4, err)
	}, `# F`)),
	rows("t07", `etoh_[-0-9.]+`, etohRow),
	rows("t07", `atm_.*`, convert(func(v []float64) ([]float64, error) {
		a, err := StandardAtmosphere(q.Length(v[0]))
		return []float64{float64(a.Temperature), float64(a.Pressure), float64(a.Density)}, err
	}, `# m`)),
	rows("t07", `npsha_.*`, convert(func(v []float64) ([]float64, error) {
		return one(NPSHAvailable(q.Absolute(v[0]), q.Absolute(v[1]), q.Density(v[2]), q.Length(v[3]), q.Length(v[4])), nil)
	}, `p_amb=#`, `pv=#`, `rho #`, `static head #`, `losses #`)),
}

var trueVapourPressure = convert(func(v []float64) ([]float64, error) {
	p, err := VapourPressure(q.Absolute(v[0]*q.PSI), fahrenheit(v[1]))
	return one(p/q.PSI, err)
}, `RVP #`, `# F`)

// etohRow answers the four published Antoine sets, whose constants stand in the
// row's source: ours in pascal and kelvin, the others in mmHg and degC or bar and K.
func etohRow(r checkRow) ([]float64, error) {
	t, err := r.input(`t=` + num)
	if err != nil {
		return nil, err
	}
	poling, err := EthanolAntoine.Pressure(kelvin(t))
	if err != nil {
		return nil, err
	}
	out := []float64{float64(poling)}
	s := `\s*` + num
	for _, set := range []struct {
		name                string
		shape               string
		logUnit, zeroOffset float64
	}{
		{"AP-42", `7\.1-3 \(` + num + s + s, math.Log10(q.InHg / 25.4), -273.15},
		{"NIST a", `a\)` + s + s + s, math.Log10(q.Bar), 0},
		{"NIST b", `b\)` + s + s + s, math.Log10(q.Bar), 0},
	} {
		m := regexp.MustCompile(set.shape).FindStringSubmatch(r["source"])
		if m == nil {
			return nil, fmt.Errorf("source does not give the constants of %s", set.name)
		}
		a := Antoine{mustNumber(m[1]) + set.logUnit, mustNumber(m[2]), mustNumber(m[3]) + set.zeroOffset, 200, 400}
		p, err := a.Pressure(kelvin(t))
		if err != nil {
			return nil, err
		}
		out = append(out, float64(p))
	}
	return out, nil
}

var wireFamilies = []family{
	rows("t08", `awg_.*`, convert(func(v []float64) ([]float64, error) {
		d, a, err := WireGauge(int(v[0]))
		if err != nil {
			return nil, err
		}
		r, err := WireResistance(1, a, Reference)
		return []float64{float64(d) / q.Inch, float64(d) / q.MM, float64(a) / q.MM2, float64(r) / q.MilliOhm}, err
	}, `AWG #`)),
	rows("t08", `awgR_.*`, convert(func(v []float64) ([]float64, error) {
		_, a, err := WireGauge(int(v[0]))
		if err != nil {
			return nil, err
		}
		return one(WireResistance(1000*q.Foot, a, Reference))
	}, `AWG #`)),
	rows("t08", `tc_.*`, convert(func(v []float64) ([]float64, error) { return one(CopperAt(kelvin(v[0])), nil) }, `ratio # C`)),
	rows("t08", `vd_.*`, convert(func(v []float64) ([]float64, error) {
		return one(VoltageDrop(q.Current(v[2]), q.Resistance(v[0]*v[1])), nil)
	}, `R=#`, `L=#`, `I=#`)),
}

var tankFamilies = []family{
	rows("t14", `ang_.*`, convert(func(v []float64) ([]float64, error) {
		return one(SurfaceAngle(q.Acceleration(v[0]*q.G), 0)*180/math.Pi, nil)
	}, `a=# g`)),
	rows("t14", `incline.*`, convert(func(v []float64) ([]float64, error) {
		return one(SurfaceAngle(q.Acceleration(v[0]), q.Acceleration(v[1]))*180/math.Pi, nil)
	}, `ay=#`, `az=#`)),
	rows("t14", `cengel_fish.*`, convert(func(v []float64) ([]float64, error) {
		t := SurfaceSlope(q.Acceleration(v[0]), 0)
		return []float64{float64(FillWithoutSpill(q.Length(v[2]), q.Length(v[1]), t)), float64(FillWithoutSpill(q.Length(v[3]), q.Length(v[1]), t))}, nil
	}, `a=# m/s2`, `# m high`, `length # m`, `\| # m along`)),
	rows("t14", `cengel_cyl.*`, convert(func(v []float64) ([]float64, error) {
		return one(FillWithoutSpill(q.Length(v[2]), q.Length(v[1]), SurfaceSlope(q.Acceleration(v[0]), 0)), nil)
	}, `a=# m/s2`, `# cm high`, `# cm dia`)),
	rows("t14", `wedge_.*`, convert(func(v []float64) ([]float64, error) {
		s, err := FreeSurface(q.Length(v[0]), q.Length(v[1]), q.Length(v[2]), v[3])
		return []float64{float64(s.Low), float64(s.High), float64(s.Dry)}, err
	}, `L=#`, `h=#`, `depth #`, `a/g=#`)),
}
