package checklist

import (
	"fmt"
	"math"

	"feedproof/checklist/datalog"
	"feedproof/checklist/fuel"
	"feedproof/checklist/planning"
	"feedproof/checklist/rules"
	"feedproof/checklist/state"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// LapRun is a planned car driven round a lap until its tank is down to the
// least level: as it is, and with accelerations a quarter higher.
type LapRun struct {
	Name     string
	Laps     int
	Time     quantity.Duration // of one lap
	Voyage   fuel.Voyage
	Session  fuel.Session
	Harder   fuel.Session
	Assumed  []string
	Findings []schema.Finding
}

// LapChoice is what a person may choose of it.
type LapChoice struct {
	Laps    int             // zero: until the least level
	Fuel    quantity.Volume // in the tank at the start; zero: full
	Changes []string        // of the model, as fuel.WhatIf takes them
}

// NamedLapRun drives one of the invented laps.
//
// Errors: a name that is not known; as [Plan]; a tank whose size is not known.
func NamedLapRun(c *state.Car, name string, o LapChoice) (LapRun, error) {
	return drive(c, name, o, func(r fuel.Result, _ fuel.Voyage) (fuel.Lap, []string, error) {
		lap, err := fuel.NamedLap(name, r.Boost)
		return lap, []string{fmt.Sprintf("lap %q is invented: %s, with this car's power and boost; a log of the car is better", name, fuel.LapMeaning(name))}, err
	})
}

// LoggedLapRun drives a logged lap.
func LoggedLapRun(c *state.Car, name string, log []datalog.Drive, o LapChoice) (LapRun, error) {
	return drive(c, name, o, func(r fuel.Result, v fuel.Voyage) (fuel.Lap, []string, error) {
		return lapOf(log, r, v)
	})
}

func drive(c *state.Car, name string, o LapChoice, of func(fuel.Result, fuel.Voyage) (fuel.Lap, []string, error)) (LapRun, error) {
	s, err := planning.System(c)
	if err != nil {
		return LapRun{}, err
	}
	for _, change := range o.Changes {
		if s, err = fuel.WhatIf(s, change); err != nil {
			return LapRun{}, err
		}
	}
	r, err := fuel.Plan(s)
	if err != nil {
		return LapRun{}, err
	}
	v, err := fuel.CourseOf(s, r)
	if err != nil {
		return LapRun{}, err
	}
	if o.Fuel > 0 {
		v.Course.Fuel = o.Fuel
	}
	lap, notes, err := of(r, v)
	if err != nil {
		return LapRun{}, err
	}
	run := LapRun{Name: name, Laps: o.Laps, Time: lap.Time(), Voyage: v, Assumed: append(notes, v.Assumed...)}
	if run.Laps == 0 {
		run.Laps = v.Laps(lap)
	}
	if run.Session, err = v.Course.Run(lap, run.Laps); err != nil {
		return LapRun{}, err
	}
	if run.Harder, err = v.Course.Run(lap.Harder(fuel.Overshoot), run.Laps); err != nil {
		return LapRun{}, err
	}
	run.Findings = rules.Lap(c, s, v, run.Session, run.Harder)
	return run, nil
}

// lapOf turns a log into a lap: load from the fuel that injectors gave, else
// from throttle; boost from manifold and barometer.
func lapOf(log []datalog.Drive, r fuel.Result, _ fuel.Voyage) (fuel.Lap, []string, error) {
	load, how, err := loads(log, r)
	if err != nil {
		return nil, nil, err
	}
	lap, boosted := make(fuel.Lap, len(log)), true
	for i, d := range log {
		barometer := d.Barometer
		if math.IsNaN(float64(barometer)) {
			barometer = r.Barometer
		}
		boost := quantity.Gauge(d.Manifold - barometer)
		if math.IsNaN(float64(boost)) {
			boosted, boost = false, max(0, r.Boost)*quantity.Gauge(load[i])
		}
		lap[i] = fuel.Stretch{Time: datalog.DriveStep, Load: quantity.Fraction(load[i]), Boost: boost, Forward: d.Forward, Left: d.Left}
	}
	notes := []string{how, "accelerations as logged, in the car's axes: forward and to the left are positive, grade is felt with them; low-passed at 1 Hz"}
	if !boosted {
		notes = append(notes, "manifold pressure was not logged throughout: boost goes with load there")
	}
	return lap, notes, nil
}

func loads(log []datalog.Drive, r fuel.Result) (load []float64, how string, err error) {
	most := 1.2 // of full power: more is another engine's log
	for _, way := range []struct {
		of  func(datalog.Drive) float64
		how string
	}{
		{func(d datalog.Drive) float64 { return float64(d.Flow) / float64(r.Demand.Mass) }, "load is the fuel that the injectors gave, over the plan's demand"},
		{func(d datalog.Drive) float64 { return float64(d.Throttle) }, "load is the throttle: without injector data nothing better was logged"},
		{func(d datalog.Drive) float64 { return float64(d.Demand) }, "load is duty or air over the most of this log: full power is taken as reached"},
	} {
		load, blanks := make([]float64, len(log)), 0
		last := 0.0
		for i, d := range log {
			if v := way.of(d); !math.IsNaN(v) {
				last = min(max(v, 0), most)
			} else {
				blanks++
			}
			load[i] = last
		}
		if blanks*10 <= len(log) {
			return load, way.how, nil
		}
	}
	return nil, "", fmt.Errorf("lap: the log has no pulse width, duty, throttle or manifold pressure that says how hard the engine worked")
}
