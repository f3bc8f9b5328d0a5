package fuel

import (
	"fmt"
	"math"
	"sort"

	"feedproof/schema/quantity"
)

// Injectors is a set of equal port injectors.
type Injectors struct {
	Count           int
	StaticFlow      quantity.Flow     // as rated, or
	StaticMass      quantity.MassFlow // as rated, with TestFluid
	RatedDifference quantity.Difference
	TestFluid       quantity.Density // zero with StaticFlow: n-heptane, the low side
	DeadTime        []DeadTime
	EventsPerCycle  int                 // 1 sequential (also for zero), 2 batch
	Spread          quantity.Fraction   // static, largest over smallest less one
	OpensUpTo       quantity.Difference // pressure above which it stops opening; zero unknown
	OpensFrom       quantity.Voltage    // voltage under which it stops opening; zero unknown
	SmallestPulse   quantity.Duration   // effective; zero: 0.6 ms, common practice
}

// DeadTime is the opening delay less the closing delay at a supply voltage.
type DeadTime struct {
	Voltage quantity.Voltage
	Time    quantity.Duration
}

// SmallestPulse is the usual smallest effective pulse that meters (common practice).
const SmallestPulse quantity.Duration = 0.6e-3

// Static is the mass flow of one injector held open: G = Q rho_t sqrt(rho/rho_t)
// sqrt(dp/dp_r), or G_r sqrt(rho/rho_t) sqrt(dp/dp_r) when rated by mass.
// A difference of zero or less is an error.
func (i Injectors) Static(fuel quantity.Density, dp quantity.Difference) (quantity.MassFlow, error) {
	if err := i.validate(); err != nil {
		return 0, err
	}
	if dp <= 0 {
		return 0, fmt.Errorf("injectors: %s across them, nothing flows", quantity.Text(dp))
	}
	rated := float64(i.StaticMass)
	if i.StaticFlow > 0 {
		rated = float64(i.StaticFlow) * float64(i.testFluid())
	}
	return quantity.MassFlow(rated * math.Sqrt(float64(fuel)/float64(i.testFluid())) * math.Sqrt(float64(dp)/float64(i.RatedDifference))), nil
}

func (i Injectors) testFluid() quantity.Density {
	if i.TestFluid == 0 {
		return TestFluidDensity
	}
	return i.TestFluid
}

func (i Injectors) validate() error {
	if i.Count < 1 {
		return fmt.Errorf("injectors: %d fitted, there must be at least one", i.Count)
	}
	if (i.StaticFlow > 0) == (i.StaticMass > 0) {
		return fmt.Errorf("injectors: give the static flow by volume or by mass, one of the two and more than zero")
	}
	if i.StaticMass > 0 && i.TestFluid == 0 {
		return fmt.Errorf("injectors: %s says nothing without the test fluid; name it or give its density", quantity.TextIn(i.StaticMass, "lb/h"))
	}
	if i.EventsPerCycle < 0 || i.EventsPerCycle > 2 {
		return fmt.Errorf("injectors: %d injections per cycle, only 1 (sequential) and 2 (batch) are known", i.EventsPerCycle)
	}
	if i.TestFluid != 0 {
		if err := within("injector test fluid", i.TestFluid, 600, 900); err != nil {
			return err
		}
	}
	return first(notNegative("injector opening pressure", i.OpensUpTo), notNegative("injector opening voltage", i.OpensFrom),
		within("injector rated pressure difference", i.RatedDifference, 0.5e5, 10e5), within("injector spread", i.Spread, 0, 0.5), i.validateDeadTimes())
}

func (i Injectors) validateDeadTimes() error {
	seen := map[quantity.Voltage]bool{}
	for _, d := range i.DeadTime {
		if err := first(within("injector dead time voltage", d.Voltage, 5, 20), within("injector dead time", d.Time, 0, 10e-3)); err != nil {
			return err
		}
		if seen[d.Voltage] {
			return fmt.Errorf("injector dead time: given twice at %s", quantity.Text(d.Voltage))
		}
		seen[d.Voltage] = true
	}
	return nil
}

// DeadTimeAt interpolates the dead time in voltage. One point serves every
// voltage; outside a table of several the range is an error.
func (i Injectors) DeadTimeAt(v quantity.Voltage) (quantity.Duration, error) {
	if len(i.DeadTime) == 0 {
		return 0, fmt.Errorf("injectors: no dead time given")
	}
	if len(i.DeadTime) == 1 {
		return i.DeadTime[0].Time, nil
	}
	table := append([]DeadTime(nil), i.DeadTime...)
	sort.Slice(table, func(a, b int) bool { return table[a].Voltage < table[b].Voltage })
	if err := within("injector supply voltage", v, table[0].Voltage, table[len(table)-1].Voltage); err != nil {
		return 0, err
	}
	k := sort.Search(len(table)-2, func(k int) bool { return v <= table[k+1].Voltage })
	lo, hi := table[k], table[k+1]
	return lo.Time + (hi.Time-lo.Time)*quantity.Duration((v-lo.Voltage)/(hi.Voltage-lo.Voltage)), nil
}

// CycleTime of a four-stroke is two revolutions.
func CycleTime(speed quantity.EngineSpeed) quantity.Duration {
	return quantity.Duration(2 / float64(speed))
}

// EffectiveDuty is the share of the cycle the injectors must flow: m/(N G).
func EffectiveDuty(need quantity.MassFlow, count int, static quantity.MassFlow) quantity.Fraction {
	return quantity.Fraction(float64(need) / (float64(count) * float64(static)))
}

// CommandedDuty adds the dead time of each injection: D + n t_dead/T.
func CommandedDuty(effective quantity.Fraction, dead quantity.Duration, speed quantity.EngineSpeed, eventsPerCycle int) quantity.Fraction {
	return effective + quantity.Fraction(float64(eventsPerCycle)*float64(dead)/float64(CycleTime(speed)))
}

// Injection is what the injectors must do at full power.
type Injection struct {
	Difference  quantity.Difference // across the injector
	Static      quantity.MassFlow   // one injector, this fuel, this difference
	Need        quantity.MassFlow   // one injector
	Cycle       quantity.Duration
	Effective   quantity.Fraction // duty without dead time
	Worst       quantity.Fraction // effective duty of the smallest of the set
	Cold        bool              // cold fuel is the harder state
	DeadTime    quantity.Duration
	Commanded   quantity.Fraction
	AssumedTest bool                // rated without a fluid: n-heptane taken
	OpensMargin quantity.Difference // to the pressure at which it stops opening; zero unknown
	VoltsMargin quantity.Voltage    // to the voltage at which it stops opening; zero unknown
	Idle        *IdlePulse
}

// IdlePulse is the pulse the injectors meter at idle.
type IdlePulse struct {
	Effective quantity.Duration
	Commanded quantity.Duration
	Smallest  quantity.Duration
	Enough    bool
}

// inject computes the duty of a set at full power.
func (i Injectors) inject(need quantity.MassFlow, fuel quantity.Density, dp quantity.Difference, v quantity.Voltage, speed quantity.EngineSpeed) (Injection, error) {
	static, err := i.Static(fuel, dp)
	if err != nil {
		return Injection{}, err
	}
	dead, err := i.DeadTimeAt(v)
	if err != nil {
		return Injection{}, err
	}
	d := EffectiveDuty(need, i.Count, static)
	out := Injection{
		Difference: dp, Static: static, Need: need / quantity.MassFlow(i.Count), Cycle: CycleTime(speed),
		Effective: d, Worst: d * (1 + i.Spread/2), DeadTime: dead,
		Commanded:   CommandedDuty(d, dead, speed, i.events()),
		AssumedTest: i.TestFluid == 0,
	}
	if i.OpensUpTo > 0 {
		out.OpensMargin = i.OpensUpTo - dp
	}
	if i.OpensFrom > 0 {
		out.VoltsMargin = v - i.OpensFrom
	}
	return out, nil
}

func (i Injectors) events() int { return max(i.EventsPerCycle, 1) }

// idle computes the pulse at idle.
func (i Injectors) idle(idle Idle, fuel quantity.Density, dp quantity.Difference, v quantity.Voltage) (*IdlePulse, error) {
	static, err := i.Static(fuel, dp)
	if err != nil {
		return nil, err
	}
	dead, err := i.DeadTimeAt(v)
	if err != nil {
		return nil, err
	}
	perEvent := float64(idle.Fuel) / float64(i.Count*i.events()) * float64(CycleTime(idle.Speed))
	smallest := i.SmallestPulse
	if smallest == 0 {
		smallest = SmallestPulse
	}
	effective := quantity.Duration(perEvent / float64(static))
	return &IdlePulse{effective, effective + dead, smallest, effective >= smallest}, nil
}
