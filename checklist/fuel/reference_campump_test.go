package fuel

import (
	"math"

	"feedproof/schema/quantity"
)

// Here: the high-pressure pump of direct injection. The published rows hold
// them, and through them what the program computes; no program calls them.

// CamPump is the high-pressure pump of direct injection, one plunger on a cam.
// What it does to the rail is not judged here: only what its low side asks.
type CamPump struct {
	Plunger  quantity.Length // diameter
	Lift     quantity.Length // of the cam
	Lobes    int
	CamRatio quantity.Fraction // cam speed over engine speed; 0.5 on a camshaft
}

// Stroke volume: pi/4 d^2 h.
func (p CamPump) Stroke() quantity.Volume {
	return quantity.Volume(area(p.Plunger) * float64(p.Lift))
}

// Geometric flow at an engine speed: the most it can take in.
func (p CamPump) Geometric(n quantity.EngineSpeed) quantity.Flow {
	return quantity.Flow(float64(p.Stroke()) * float64(p.Lobes) * float64(p.CamRatio) * float64(n))
}

// PeakIntake of a harmonic cam: pi times the geometric flow. Real cams peak
// higher, perhaps 1.3 times (from memory).
func (p CamPump) PeakIntake(n quantity.EngineSpeed) quantity.Flow {
	return math.Pi * p.Geometric(n)
}

// VolumetricEfficiency of a plunger: 1 - (p_rail - p_in)/K (1 + dead/stroke) - leak,
// K the fuel's bulk modulus in Pa. Compression of stroke and dead volume; hot,
// worn or aerated pumps have less: plan 0.80 to 0.90.
func VolumetricEfficiency(rail, in quantity.Gauge, bulk float64, deadOverStroke, leak quantity.Fraction) quantity.Fraction {
	return 1 - quantity.Fraction(float64(rail-in)/bulk)*(1+deadOverStroke) - leak
}

// HighSideMargin is what the pump can give at a speed over what is burnt there.
// It is least at the torque peak, not at full power.
func (p CamPump) HighSideMargin(efficiency quantity.Fraction, n quantity.EngineSpeed, burnt quantity.Flow) quantity.Fraction {
	return efficiency * quantity.Fraction(p.Geometric(n)/burnt)
}

// LowSideNeed is what the lift pump has to bring: what is burnt, and what leaves
// the low side by leak-off and bleed.
func LowSideNeed(burnt, leakOff, bleed quantity.Flow) quantity.Flow { return burnt + leakOff + bleed }

// IntakeSwing is the volume that comes and goes at the inlet over the stroke
// volume, for a harmonic cam that delivers the last share of its stroke and
// spills the rest: 0.5511 at full delivery, 1 at none. Worst at idle and on the overrun.
func IntakeSwing(delivered quantity.Fraction) (quantity.Fraction, error) {
	if err := within("delivered share of the stroke", delivered, 0, 1); err != nil {
		return 0, err
	}
	d := float64(delivered)
	spills := math.Acos(1 - 2*(1-d)) // angle after the top of intake at which the spill ends
	net := func(phi float64) float64 {
		taken := (1 - math.Cos(phi)) / 2
		if phi > math.Pi {
			taken = 1 - (1-math.Cos(math.Min(phi-math.Pi, spills)))/2
		}
		return taken - d*phi/(2*math.Pi)
	}
	// Net intake turns where its slope is that of the mean: sin phi = d/pi, rising
	// or falling, and where the spill begins and ends.
	f := math.Asin(d / math.Pi)
	most, least := math.Inf(-1), math.Inf(1)
	for _, phi := range []float64{0, f, math.Pi - f, math.Pi, math.Pi + spills, 2 * math.Pi} {
		most, least = math.Max(most, net(phi)), math.Min(least, net(phi))
	}
	return quantity.Fraction(most - least), nil
}

// InletPulsation is the swing of pressure, peak to peak, at a damper.
func InletPulsation(swing quantity.Fraction, stroke quantity.Volume, damper Compliance) quantity.Difference {
	return quantity.Difference(float64(swing) * float64(stroke) / float64(damper))
}

// InletNeed is the absolute pressure that a cam pump's inlet needs: vapour
// pressure of the fuel at the pump, half its pulsation, what the inlet valve
// takes at peak flow, and a reserve.
func InletNeed(vapour quantity.Absolute, halfPulsation, valve, reserve quantity.Difference) quantity.Absolute {
	return vapour + quantity.Absolute(halfPulsation+valve+reserve)
}

// InletMargin is what is left over vapour pressure at a cam pump's inlet.
func InletMargin(lift quantity.Gauge, barometer quantity.Absolute, line, halfPulsation, valve quantity.Difference, vapour quantity.Absolute) quantity.Difference {
	return quantity.Difference(lift) + quantity.Difference(barometer-vapour) - line - halfPulsation - valve
}

// OrificeLoss is rho/2 (q/(Cd A))^2.
func OrificeLoss(rho quantity.Density, q quantity.Flow, cdArea quantity.Area) quantity.Difference {
	v := float64(q) / float64(cdArea)
	return quantity.Difference(float64(rho) / 2 * v * v)
}

// ThrottleWarming of fuel let down from a pressure: dp/(rho c); the
// Joule-Thomson term is left out.
func ThrottleWarming(dp quantity.Difference, fuel Blend) quantity.TemperatureDifference {
	return quantity.TemperatureDifference(float64(dp) / fuel.volumeHeat())
}
