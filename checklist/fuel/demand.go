package fuel

import (
	"fmt"

	"feedproof/schema/quantity"
)

// PowerBasis says where a power was measured.
type PowerBasis string

// Bases. Wheel needs a driveline loss; 0.12 to 0.20 is common practice.
const (
	Crank PowerBasis = "crank"
	Wheel PowerBasis = "wheel"
)

// CrankPower turns a stated power into what the engine made: divided by 1 -
// loss when measured at the wheels, and by the printed power correction
// factor, because fuel burns for the uncorrected power. A zero correction is 1.
func CrankPower(stated quantity.Power, basis PowerBasis, loss, correction quantity.Fraction) (quantity.Power, error) {
	if err := positive("engine power", stated); err != nil {
		return 0, err
	}
	if correction == 0 {
		correction = 1
	}
	if err := within("power correction", correction, 0.8, 1.35); err != nil {
		return 0, err
	}
	p := float64(stated) / float64(correction)
	switch basis {
	case Crank:
		return quantity.Power(p), nil
	case Wheel:
		if err := within("driveline loss", loss, 0, 0.5); err != nil {
			return 0, err
		}
		return quantity.Power(p / (1 - float64(loss))), nil
	}
	return 0, fmt.Errorf("engine power: basis %q is neither crank nor wheel", basis)
}

// FuelForPower is the fuel flow of a shaft power: m = P BSFC.
func FuelForPower(p quantity.Power, bsfc quantity.SpecificConsumption) quantity.MassFlow {
	return quantity.MassFlow(float64(p) * float64(bsfc))
}

// VolumeFlow is mass flow over density.
func VolumeFlow(m quantity.MassFlow, rho quantity.Density) quantity.Flow {
	return quantity.Flow(float64(m) / float64(rho))
}

// AirForFuel is the air a fuel flow burns with: m lambda AFR.
func AirForFuel(m quantity.MassFlow, lambda quantity.Lambda, stoichiometric AirFuelRatio) quantity.MassFlow {
	return quantity.MassFlow(float64(m) * float64(lambda) * float64(stoichiometric))
}

// FuelForAir is the fuel that makes lambda with an air flow.
func FuelForAir(air quantity.MassFlow, lambda quantity.Lambda, stoichiometric AirFuelRatio) quantity.MassFlow {
	return quantity.MassFlow(float64(air) / (float64(lambda) * float64(stoichiometric)))
}

// AirFlow of a four-stroke: VE rho_air V_d N/2 with rho_air = p/(R T) at the
// manifold. Source: definition of volumetric efficiency.
func AirFlow(displacement quantity.Volume, ve quantity.Fraction, manifold quantity.Absolute, charge quantity.Temperature, speed quantity.EngineSpeed) (quantity.MassFlow, error) {
	err := first(positive("displacement", displacement), within("volumetric efficiency", ve, 0.2, 1.5),
		positive("manifold pressure", manifold), within("charge temperature", charge, celsius(-40), celsius(200)), positive("engine speed", speed))
	if err != nil {
		return 0, err
	}
	rho := float64(manifold) / (gasConstant * float64(charge))
	return quantity.MassFlow(float64(ve) * rho * float64(displacement) * float64(speed) / 2), nil
}

// FuelConversionEfficiency is 1/(BSFC LHV). Source: Heywood (1988) sec. 2.10.
func FuelConversionEfficiency(bsfc quantity.SpecificConsumption, lhv quantity.SpecificEnergy) quantity.Fraction {
	return quantity.Fraction(1 / (float64(bsfc) * float64(lhv)))
}

// PowerPerAir is crank horsepower per lb/min of air, which lands between 8.5
// and 10.5 when power, consumption and mixture fit together (common practice).
func PowerPerAir(p quantity.Power, air quantity.MassFlow) float64 {
	return (float64(p) / quantity.HP) / (float64(air) / quantity.LbPerMin)
}

// ConsumptionOn carries a specific consumption from the fuel that it was
// measured on to another, at equal lambda and brake efficiency:
// BSFC2 = BSFC1 LHV1/LHV2. Volume then goes with 1/(LHV rho).
// Source: definition of fuel conversion efficiency, Heywood (1988) sec. 2.10.
func ConsumptionOn(bsfc quantity.SpecificConsumption, measured, wanted Blend) quantity.SpecificConsumption {
	return bsfc * quantity.SpecificConsumption(measured.HeatingValue/wanted.HeatingValue)
}

// Efficiencies at full load outside which a specific consumption is probably
// that of another fuel (shop practice).
const (
	EfficiencyLow  quantity.Fraction = 0.18
	EfficiencyHigh quantity.Fraction = 0.33
)

// Usual range of [PowerPerAir], and how far two routes to the fuel flow may
// differ before the planner asks why (common practice).
const (
	PowerPerAirLow     = 8.5
	PowerPerAirHigh    = 10.5
	RouteDisagreement  = 0.15
	horsepowerConfused = "horsepower entered as kilowatt, wheel power entered as crank, or another fuel's consumption"
)

// Demand is what the engine burns at full power, and how well two routes to
// that figure agree.
type Demand struct {
	CrankPower  quantity.Power               // uncorrected, at the crank
	Consumption quantity.SpecificConsumption // on this fuel
	Efficiency  quantity.Fraction            // brake power over the fuel's energy
	Usual       bool                         // Efficiency within its usual range
	Mass        quantity.MassFlow
	Volume      quantity.Flow
	Air         quantity.MassFlow // burnt with it at the planned lambda
	PowerPerAir float64           // hp per lb/min
	Plausible   bool              // PowerPerAir within its usual range
	ByAir       *AirRoute         // nil without displacement
	Explain     string            // why the planner asks, empty when all agrees
}

// AirRoute is the demand computed from what the engine breathes.
type AirRoute struct {
	Air     quantity.MassFlow
	Fuel    quantity.MassFlow
	Differs quantity.Fraction // of the power route
	Agrees  bool              // within RouteDisagreement
}

// FullPower computes the demand of an engine on a blend.
func FullPower(e Engine, b Blend) (Demand, error) {
	p, err := CrankPower(e.Power, e.Basis, e.DrivelineLoss, e.PowerCorrection)
	if err != nil {
		return Demand{}, err
	}
	if err := e.validate(); err != nil {
		return Demand{}, err
	}
	measured, err := EthanolBlend(e.BSFCEthanol)
	if err != nil {
		return Demand{}, err
	}
	bsfc := ConsumptionOn(e.BSFC, measured, b)
	m := FuelForPower(p, bsfc)
	d := Demand{CrankPower: p, Consumption: bsfc, Mass: m, Volume: VolumeFlow(m, b.Density), Efficiency: FuelConversionEfficiency(bsfc, b.HeatingValue)}
	if d.Usual = d.Efficiency >= EfficiencyLow && d.Efficiency <= EfficiencyHigh; !d.Usual {
		d.Explain = fmt.Sprintf("%s on %s ethanol is an efficiency of %s, outside the usual %s to %s at full load: on which fuel was it measured?", quantity.Text(e.BSFC),
			quantity.Format(e.BSFCEthanol, "%", 0), quantity.Format(d.Efficiency, "%", 1), quantity.Format(EfficiencyLow, "%", 0), quantity.Format(EfficiencyHigh, "%", 0))
	}
	if e.Lambda == 0 {
		return d, nil
	}
	d.Air = AirForFuel(m, e.Lambda, b.Stoichiometric)
	d.PowerPerAir = PowerPerAir(p, d.Air)
	d.Plausible = d.PowerPerAir >= PowerPerAirLow && d.PowerPerAir <= PowerPerAirHigh
	if !d.Plausible {
		d.Explain = fmt.Sprintf("%.1f hp per lb/min of air is outside the usual %.1f to %.1f: %s?", d.PowerPerAir, PowerPerAirLow, PowerPerAirHigh, horsepowerConfused)
	}
	return d, d.crossCheck(e, b)
}

// crossCheck adds the route over displacement when the engine gives one.
func (d *Demand) crossCheck(e Engine, b Blend) error {
	if e.Breathing == nil {
		return nil
	}
	air, err := AirFlow(e.Breathing.Displacement, e.Breathing.VolumetricEfficiency, e.ManifoldMax, e.Breathing.Charge, e.SpeedMax)
	if err != nil {
		return err
	}
	fuel := FuelForAir(air, e.Lambda, b.Stoichiometric)
	differs := quantity.Fraction(float64(fuel)/float64(d.Mass) - 1)
	agrees := differs >= -RouteDisagreement && differs <= RouteDisagreement
	d.ByAir = &AirRoute{air, fuel, differs, agrees}
	if !agrees {
		d.Explain = fmt.Sprintf("fuel from the air the engine breathes is %s of fuel from power: %s?", quantity.Format(1+differs, "%", 0), horsepowerConfused)
	}
	return nil
}
