package checklist

import (
	"feedproof/checklist/datalog"
	"feedproof/checklist/fuel"
	"feedproof/checklist/planning"
	"feedproof/checklist/state"
)

// RailWaves is what waves make of the planned rail, and how a log shows them.
type RailWaves struct {
	fuel.RailPulsation
	Injection datalog.Hertz // at the highest speed
	Aliases   []Alias       // at the rates of usual logs
}

// Alias is where a log of a rate shows the pulsation of the rail.
type Alias struct{ Rate, Shows datalog.Hertz }

// logRates are those of usual logs (common practice), samples a second.
var logRates = []datalog.Hertz{1000, 100, 50, 20}

// Waves follows the waves in the planned rail, with changes of the model as
// fuel.WhatIf takes them.
//
// Errors: as [Plan] and fuel.Pulsate.
func Waves(c *state.Car, changes ...string) (RailWaves, error) {
	s, err := planning.System(c)
	if err != nil {
		return RailWaves{}, err
	}
	for _, change := range changes {
		if s, err = fuel.WhatIf(s, change); err != nil {
			return RailWaves{}, err
		}
	}
	r, err := fuel.Plan(s)
	if err != nil {
		return RailWaves{}, err
	}
	p, err := fuel.Pulsate(s, r)
	if err != nil {
		return RailWaves{}, err
	}
	w := RailWaves{RailPulsation: p, Injection: datalog.InjectionFrequency(p.Speed, s.Injectors.Count)}
	for _, rate := range logRates {
		w.Aliases = append(w.Aliases, Alias{rate, datalog.AliasFrequency(w.Injection, rate)})
	}
	return w, nil
}

// Slow reports that a rate cannot show the pulsation as it is: it is under twice
// its frequency.
func (a Alias) Slow(injection datalog.Hertz) bool { return a.Rate < 2*injection }
