package fuel

import (
	"fmt"

	"feedproof/schema/quantity"
)

// System is a fuel system and the envelope it is planned for. Optional parts
// are nil or empty; a zero quantity is unknown where the comment says so.
type System struct {
	Engine         Engine
	Fuel           Fuel
	Site           Site
	Regulator      Regulator    // of an injected engine
	Injectors      *Injectors   // nil with a carburettor
	Carburettor    *Carburettor // nil with injectors
	Pumps          []Pump
	Arrangement    Arrangement
	Feed           Line  // pump to rail or carburettor
	Return         *Line // nil: returnless
	Rails          *Rails
	Supply         Supply // of each pump
	Tank           *Tank
	Suction        *Suction
	Surge          *Surge
	OutletPressure quantity.Gauge        // the lead's round figure, see [OutletTolerance]; zero: as computed
	Acceleration   quantity.Acceleration // longest forward of the envelope
}

// Engine is what burns the fuel.
type Engine struct {
	Power           quantity.Power
	Basis           PowerBasis
	DrivelineLoss   quantity.Fraction            // for Wheel
	PowerCorrection quantity.Fraction            // printed over observed; zero: 1
	BSFC            quantity.SpecificConsumption // at full load, as measured on BSFCEthanol
	BSFCEthanol     quantity.Fraction            // ethanol by volume of the fuel that BSFC is for
	Lambda          quantity.Lambda              // zero: no cross-check by air
	SpeedMax        quantity.EngineSpeed
	ManifoldMax     quantity.Absolute
	Breathing       *Breathing
	Idle            *Idle
}

// Breathing is the second route to the demand.
type Breathing struct {
	Displacement         quantity.Volume
	VolumetricEfficiency quantity.Fraction
	Charge               quantity.Temperature // in the manifold
}

// Idle is the engine at its least.
type Idle struct {
	Fuel     quantity.MassFlow
	Speed    quantity.EngineSpeed
	Manifold quantity.Absolute
}

// Fuel is what may be in the tank.
type Fuel struct {
	EthanolMax     quantity.Fraction // by volume
	EthanolMin     quantity.Fraction
	Temperature    quantity.Temperature // highest of the envelope; zero: properties at 20 degC
	VapourPressure quantity.Absolute    // Reid; zero unknown
}

// Site is where the car runs. A barometer wins over an altitude.
type Site struct {
	Altitude  quantity.Length
	Barometer quantity.Absolute
}

// Rails carry the injectors.
type Rails struct {
	Count       int
	Arrangement RailArrangement // for more than one
	Bore        quantity.Length
	Length      quantity.Length // each
	Link        Line            // from rail to rail, or to each rail
}

// RailArrangement is how rails are fed.
type RailArrangement string

// Rail arrangements.
const (
	RailsInSeries   RailArrangement = "series"
	RailsInParallel RailArrangement = "parallel"
)

// manifold is the highest pressure of the envelope over a barometer. An engine
// that never exceeds sea level breathes by itself: it has no more than the
// barometer.
func (e Engine) manifold(barometer quantity.Absolute) quantity.Absolute {
	if e.ManifoldMax <= SeaLevel {
		return min(e.ManifoldMax, barometer)
	}
	return e.ManifoldMax
}

func (e Engine) validate() error {
	err := first(within("ethanol of the fuel that BSFC is for", e.BSFCEthanol, 0, 1), within("BSFC", e.BSFC, 0.1*quantity.KgPerKWh, 2*quantity.KgPerKWh), within("engine speed", e.SpeedMax, 500*quantity.RPM, 25000*quantity.RPM),
		within("manifold pressure", e.ManifoldMax, 20e3, 800e3))
	if err != nil {
		return err
	}
	if e.Lambda != 0 {
		if err := within("lambda", e.Lambda, 0.5, 1.5); err != nil {
			return err
		}
	}
	if e.Breathing != nil && e.Lambda == 0 {
		return fmt.Errorf("lambda: needed to compare fuel from power with fuel from air")
	}
	if e.Idle != nil {
		return first(positive("idle fuel", e.Idle.Fuel), within("idle speed", e.Idle.Speed, 200*quantity.RPM, 4000*quantity.RPM), within("idle manifold pressure", e.Idle.Manifold, 10e3, 150e3))
	}
	return nil
}

func (f Fuel) validate() error {
	err := first(within("fuel ethanol content", f.EthanolMax, 0, 1), within("fuel least ethanol content", f.EthanolMin, 0, 1))
	if err != nil {
		return err
	}
	if f.EthanolMin > f.EthanolMax {
		return fmt.Errorf("fuel: least ethanol content %s is more than the most, %s", quantity.Text(f.EthanolMin), quantity.Text(f.EthanolMax))
	}
	return nil
}

func (r Rails) validate() error {
	if r.Count < 1 || r.Count > 8 {
		return fmt.Errorf("rails: %d, there are one to eight", r.Count)
	}
	if r.Count > 1 && r.Arrangement != RailsInSeries && r.Arrangement != RailsInParallel {
		return fmt.Errorf("rails: arrangement %q is not series or parallel", r.Arrangement)
	}
	err := first(within("rail bore", r.Bore, 2e-3, 0.1), within("rail length", r.Length, 0, 3))
	if err == nil && r.Count > 1 {
		return r.Link.validate("rail link")
	}
	return err
}

// Barometer is the pressure at the site.
func (s Site) barometer() (quantity.Absolute, error) {
	if s.Barometer != 0 {
		return s.Barometer, within("barometer", s.Barometer, 40e3, 110e3)
	}
	air, err := StandardAtmosphere(s.Altitude)
	return air.Pressure, err
}

// Blend is the fuel with most ethanol at the envelope's temperature.
func (f Fuel) Blend() (Blend, error) {
	if err := f.validate(); err != nil {
		return Blend{}, err
	}
	b, err := EthanolBlend(f.EthanolMax)
	if err != nil || f.Temperature == 0 {
		return b, err
	}
	return b.At(f.Temperature)
}

func (s System) validate() error {
	if (s.Injectors == nil) == (s.Carburettor == nil) {
		return fmt.Errorf("system: give injectors or a carburettor, one of the two")
	}
	if err := first(s.Feed.validate("feed line"), s.Supply.validate(), notNegative("acceleration", s.Acceleration), notNegative("planned outlet pressure", s.OutletPressure)); err != nil {
		return err
	}
	if s.Carburettor != nil {
		if err := s.Carburettor.validate(); err != nil {
			return err
		}
	} else if err := first(s.Regulator.validate(), s.Injectors.validate()); err != nil {
		return err
	}
	if s.Return != nil {
		if err := s.Return.validate("return line"); err != nil {
			return err
		}
	}
	if s.Suction != nil {
		if err := first(s.Suction.Line.validate("suction line"), within("fuel level over the pump", s.Suction.Level, -2, 5), within("pressure kept over the fuel", s.Suction.OverVented, 0, 1e5)); err != nil {
			return err
		}
	}
	if s.Rails != nil {
		return s.Rails.validate()
	}
	return nil
}

// place is where the regulator sits, with the usual place when not said.
func (s System) place() RegulatorPlace {
	switch {
	case s.Regulator.Place != "":
		return s.Regulator.Place
	case s.Return != nil:
		return AfterRail
	}
	return BeforeRail
}

// clone copies a system so deep that changing the copy leaves it alone.
func (s System) clone() System {
	s.Pumps = append([]Pump(nil), s.Pumps...)
	for i := range s.Pumps {
		s.Pumps[i].Curve = append([]CurvePoint(nil), s.Pumps[i].Curve...)
	}
	s.Feed.Drops = append([]Drop(nil), s.Feed.Drops...)
	s.Regulator.WideOpen = append([]Drop(nil), s.Regulator.WideOpen...)
	s.Engine.Breathing, s.Engine.Idle = copied(s.Engine.Breathing), copied(s.Engine.Idle)
	s.Injectors, s.Carburettor, s.Return = copied(s.Injectors), copied(s.Carburettor), copied(s.Return)
	s.Rails, s.Tank, s.Suction, s.Surge = copied(s.Rails), copied(s.Tank), copied(s.Suction), copied(s.Surge)
	if s.Injectors != nil {
		s.Injectors.DeadTime = append([]DeadTime(nil), s.Injectors.DeadTime...)
	}
	if s.Return != nil {
		s.Return.Drops = append([]Drop(nil), s.Return.Drops...)
	}
	return s
}

func copied[T any](p *T) *T {
	if p == nil {
		return nil
	}
	c := *p
	return &c
}
