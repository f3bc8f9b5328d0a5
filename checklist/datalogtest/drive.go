package datalogtest

import (
	"math"
	"math/rand/v2"

	q "feedproof/schema/quantity"
)

// How the engine of the example is run.
const (
	DeadTime = 0.95 // ms
	Target   = 0.80 // lambda at load
	FullDuty = 64.5 // % effective at full power
)

// Shot is one moment of an invented drive: s, rpm, kPa abs, bar, ms, lambda, V,
// %, degC, L, g.
type Shot struct {
	T                                                    float64
	RPM, MAP, Rail, PW, Lambda, Target, Battery, Pump    float64
	Throttle, FuelT, Ethanol, Baro, Duty, Current, Stage float64
	Level, Lateral, Command, Drop                        float64
}

// InPull reports full throttle.
func (s Shot) InPull() bool { return s.Throttle >= 90 }

// Drive invents a log. A zero value takes what [Drive.Shots] says.
type Drive struct {
	Rate       float64                                   // Hz; 50
	Pulls      int                                       // 3
	PullTime   float64                                   // s; 7
	Cruise     float64                                   // s before each pull; 6
	Noise      float64                                   // bar, standard deviation of the rail sensor; 0.01
	Quantum    float64                                   // bar, resolution of the rail sensor
	Seed       uint64                                    // of the noise
	Across     func(mapKPa, flow, volts float64) float64 // bar across the injectors, of manifold, share of the highest flow and pump volts; [Base]
	Volts      func(rpm float64) float64                 // at the pump
	Base       float64                                   // bar, reference hose off; [Base]
	Boost      float64                                   // manifold as a share of [Boosted]; 1
	Pulse      func(t, rpm float64) float64              // bar on top of the rail
	Shift      float64                                   // s into the pull at which a gear is changed; none
	WarmByPull float64                                   // K
	StillPump  bool                                      // the pump runs on at the end
	StartAt    float64                                   // s; what is before is dropped
	EndAt      float64                                   // s; and what is after, when it is not 0
	Mutate     func(*Shot)                               // the last word on each moment
}

// Drive is the car with all else as usual.
func (c Car) Drive() Drive {
	return Drive{
		Across: c.Across(), Volts: c.Volts, Base: float64(c.Planned.Regulator.Base) / q.Bar,
		Boost: float64(c.Planned.Engine.ManifoldMax) / 1e3 / TopMAP,
	}
}

// Boosted is the path of the trade notes' logs: rpm, manifold kPa.
var Boosted = [][2]float64{{3000, 160}, {3500, 240}, {4000, 285}, {5000, TopMAP}, {TopRPM, TopMAP}}

// Interpolate reads a table of x and y.
func Interpolate(table [][2]float64, x float64) float64 {
	for i := 1; i < len(table); i++ {
		if a, b := table[i-1], table[i]; x <= b[0] {
			return a[1] + (b[1]-a[1])*(x-a[0])/(b[0]-a[0])
		}
	}
	return table[len(table)-1][1]
}

func healthyVolts(rpm float64) float64 { return 13.5 - 0.2*(rpm-3000)/4200 }

func saggingVolts(rpm float64) float64 {
	return Interpolate([][2]float64{{3000, 13.4}, {3500, 13.2}, {4000, 12.9}, {5000, 12.5}, {6000, 12.2}, {7000, 12.0}, {TopRPM, 12.0}}, rpm)
}

// Times of the parts of a drive, s.
const (
	KeyOnEnd   = 2.0
	HoseOffEnd = 12.0
	IdleEnd    = 16.0
	CoastTime  = 2.0
	shiftTime  = 0.3
)

func (d Drive) defaults() Drive {
	orElse := func(v *float64, usual float64) {
		if *v == 0 {
			*v = usual
		}
	}
	orElse(&d.Rate, 50)
	orElse(&d.PullTime, 7)
	orElse(&d.Cruise, 6)
	orElse(&d.Base, Base)
	orElse(&d.Boost, 1)
	orElse(&d.Noise, 0.01)
	if d.Pulls == 0 {
		d.Pulls = 3
	}
	if d.Across == nil {
		d.Across = func(_, _, _ float64) float64 { return d.Base }
	}
	if d.Volts == nil {
		d.Volts = healthyVolts
	}
	return d
}

// Shots are the moments of the drive: key on to 2 s, idle with the reference
// hose off to 12 s, idle to 16 s, then cruise and pull in turn, and 4 s with the
// engine stopped.
func (d Drive) Shots() []Shot {
	d = d.defaults()
	random := rand.New(rand.NewPCG(d.Seed, 7))
	cycle := d.Cruise + d.PullTime + CoastTime
	end := IdleEnd + float64(d.Pulls)*cycle + 4
	var out []Shot
	for i := 0; ; i++ {
		t := float64(i) / d.Rate
		if t >= end || d.EndAt > 0 && t > d.EndAt {
			return out
		}
		s := d.at(t, end, cycle, random)
		if d.Mutate != nil {
			d.Mutate(&s)
		}
		if t >= d.StartAt {
			out = append(out, s)
		}
	}
}

// at is the drive at a time.
func (d Drive) at(t, end, cycle float64, random *rand.Rand) Shot {
	s := Shot{T: t, Target: 1, Battery: 13.9, FuelT: 30, Ethanol: 10, Baro: Barometer, Level: 30, Command: 60, MAP: 40, RPM: 900}
	hoseOff, off := false, false
	switch in := math.Mod(t-IdleEnd, cycle); {
	case t < KeyOnEnd:
		s.RPM, s.MAP, off = 0, Barometer, true
	case t < HoseOffEnd:
		hoseOff = true
	case t < IdleEnd:
	case t >= end-4:
		s.RPM, s.MAP, off = 0, Barometer, t >= end-3
	case in < d.Cruise:
		s.RPM, s.MAP, s.Throttle = 2600, 90, 25
	case in < d.Cruise+d.PullTime:
		d.pull(&s, in-d.Cruise)
	default:
		s.RPM, s.MAP = 6000-1500*(in-d.Cruise-d.PullTime), 35
	}
	if pull := int((t - IdleEnd) / cycle); t > IdleEnd {
		s.FuelT += d.WarmByPull * float64(min(pull, d.Pulls-1))
	}
	d.fill(&s, hoseOff, off, random)
	return s
}

// pull is so far into a pull: from 3000 to 7200 rpm, or on from 5000 rpm after
// the gear was changed at 7200.
func (d Drive) pull(s *Shot, in float64) {
	s.Throttle, s.Target = 100, Target
	switch since := in - d.Shift; {
	case d.Shift == 0:
		s.RPM = 3000 + 4200*in/d.PullTime
	case since < 0:
		s.RPM = 3000 + 4200*in/d.Shift
	case since < shiftTime:
		s.RPM, s.MAP, s.Throttle, s.Target = TopRPM-2200*since/shiftTime, 120, 15, 1
		return
	default:
		s.RPM = 5000 + 2200*(since-shiftTime)/(d.PullTime-d.Shift-shiftTime)
	}
	s.MAP = d.Boost * Interpolate(Boosted, s.RPM)
}

func (d Drive) fill(s *Shot, hoseOff, off bool, random *rand.Rand) {
	flow := s.RPM * s.MAP / (TopRPM * TopMAP * d.Boost)
	s.Pump = d.Volts(max(s.RPM, 3000))
	drop := d.Base
	switch {
	case off && !d.StillPump:
		s.Rail, s.Pump, s.Command, s.Current = 0, 0, 0, 0
	case hoseOff:
		drop = d.Base + (Barometer-s.MAP)/100
		s.Rail, s.Current = d.Base, 9
	default:
		drop = d.Across(s.MAP, flow, s.Pump)
		s.Rail, s.Current = drop+(s.MAP-Barometer)/100, 9+5*flow
	}
	if d.Pulse != nil {
		s.Rail += d.Pulse(s.T, s.RPM)
	}
	s.Rail += d.Noise * random.NormFloat64()
	if d.Quantum > 0 {
		s.Rail = math.Round(s.Rail/d.Quantum) * d.Quantum
	}
	s.MAP += 0.2 * random.NormFloat64()
	s.Lambda = s.Target*math.Sqrt(d.Base/max(drop, 0.1)) + 0.003*random.NormFloat64()
	if s.RPM > 0 {
		s.Duty = FullDuty*flow + DeadTime*s.RPM/1200
		s.PW = s.Duty * 1200 / s.RPM
	}
	s.Drop = s.Rail - (s.MAP-Barometer)/100
}
