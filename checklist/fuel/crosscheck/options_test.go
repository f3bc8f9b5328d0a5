package crosscheck

import (
	"fmt"
	"strconv"
	"strings"

	"feedproof/checklist/fuel/network"
	"feedproof/schema/quantity"
)

// foot and gravity are the engine's: it works in feet with g = 32.2 ft/s2.
const (
	foot    = 0.3048
	gravity = 32.2 * foot
)

// perCubicFoot is the engine's flow units per ft3/s; true marks metric ones.
var perCubicFoot = map[string]struct {
	factor float64
	metric bool
}{
	"CFS": {1, false}, "GPM": {448.831, false}, "MGD": {0.64632, false}, "IMGD": {0.5382, false}, "AFD": {1.9837, false},
	"LPS": {28.317, true}, "LPM": {1699.0, true}, "MLD": {2.4466, true}, "CMH": {101.94, true}, "CMD": {2446.6, true}, "CMS": {0.028317, true},
}

// units of a file: what one of its units is in SI.
type units struct {
	flow      float64 // m3/s
	length    float64 // m
	diameter  float64 // m
	roughness float64 // m
	pressure  float64 // m of head
}

type settings struct {
	flowUnits, pressureUnits string
	headLoss                 string
	gravitySpecific          float64
	viscosity                float64
	emitterPower             float64
	emitterBackflow          bool
	demandFactor             float64
	pattern                  string
}

// options reads [OPTIONS] and settles units and fluid.
func (r *reader) options() error {
	s := settings{flowUnits: "GPM", headLoss: "H-W", gravitySpecific: 1, viscosity: 1, emitterPower: 0.5, emitterBackflow: true, demandFactor: 1, pattern: "1"}
	for _, l := range r.sections["OPTIONS"] {
		if err := s.read(l); err != nil {
			return fmt.Errorf("line %d, [OPTIONS]: %w", l.number, err)
		}
	}
	if s.headLoss != "D-W" {
		return fmt.Errorf("[OPTIONS]: head loss law %s is not read, only D-W", s.headLoss)
	}
	per, ok := perCubicFoot[s.flowUnits]
	if !ok {
		return fmt.Errorf("[OPTIONS]: flow unit %s is not known", s.flowUnits)
	}
	u := units{flow: foot * foot * foot / per.factor, length: foot, diameter: quantity.Inch, roughness: foot * 1e-3}
	defaultPressure := "PSI"
	if per.metric {
		u.length, u.diameter, u.roughness, defaultPressure = 1, quantity.MM, quantity.MM, "METERS"
	}
	if s.pressureUnits == "" || !per.metric {
		s.pressureUnits = defaultPressure
	}
	perFoot := map[string]float64{"PSI": 0.4333, "KPA": 0.4333 * 6.895, "METERS": foot}[s.pressureUnits]
	if perFoot == 0 {
		return fmt.Errorf("[OPTIONS]: pressure unit %s is not known", s.pressureUnits)
	}
	u.pressure = foot / (perFoot * s.gravitySpecific)
	r.model.units, r.settings = u, s
	r.model.fluid = network.Fluid{Density: quantity.Density(1000 * s.gravitySpecific), Gravity: gravity, Friction: Friction, Viscosity: quantity.Viscosity(s.kinematic(u))}
	return nil
}

// kinematic viscosity: above 1e-3 a multiple of water's 1.1e-5 ft2/s, else the
// figure itself in the file's length unit squared per second.
func (s settings) kinematic(u units) float64 {
	if s.viscosity > 1e-3 {
		return s.viscosity * 1.1e-5 * foot * foot
	}
	return s.viscosity * u.length * u.length
}

func (s *settings) read(l line) error {
	text := strings.ToUpper(strings.Join(l.fields, " "))
	last := strings.ToUpper(l.fields[len(l.fields)-1])
	number := func(into *float64) error {
		v, err := strconv.ParseFloat(last, 64)
		if err != nil || !(v > 0) {
			return fmt.Errorf("%s: %q is not a number above zero", l.fields[0], last)
		}
		*into = v
		return nil
	}
	switch {
	case strings.HasPrefix(text, "UNITS"):
		s.flowUnits = last
	case strings.HasPrefix(text, "PRESSURE"):
		s.pressureUnits = last
	case strings.HasPrefix(text, "HEADLOSS"):
		s.headLoss = last
	case strings.HasPrefix(text, "SPECIFIC GRAVITY"):
		return number(&s.gravitySpecific)
	case strings.HasPrefix(text, "VISCOSITY"):
		return number(&s.viscosity)
	case strings.HasPrefix(text, "EMITTER EXPONENT"):
		return number(&s.emitterPower)
	case strings.HasPrefix(text, "EMITTER BACKFLOW"):
		s.emitterBackflow = last != "NO"
	case strings.HasPrefix(text, "DEMAND MULTIPLIER"):
		return number(&s.demandFactor)
	case strings.HasPrefix(text, "DEMAND MODEL") && last != "DDA":
		return fmt.Errorf("demand model %s is not read", last)
	case strings.HasPrefix(text, "PATTERN"):
		s.pattern = l.fields[len(l.fields)-1]
	}
	return nil
}
