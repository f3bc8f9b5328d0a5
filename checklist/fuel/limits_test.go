package fuel

import (
	"math"
	"strings"
	"testing"

	q "feedproof/schema/quantity"
)

// samples are the systems of the worked examples, invented.
func samples() map[string]System {
	return map[string]System{"turbo four": turboFour(), "swap": swap(), "twins": twins(), "carburettor": dragCarb(), "flex": flexThree(), "hill track": hillTrack()}
}

// At the supported power the limiting item stands at its limit: the plan says so itself.
func TestSupportedPowerStandsAtTheLimit(t *testing.T) {
	for name, s := range samples() {
		c := PlanningCriteria(s)
		support, err := SupportedPower(s, c)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		s.Engine.Power = support.Power * (1 - 1e-6)
		r := plan(t, s)
		for _, i := range rising {
			v, there := i.value(s, r)
			if !there {
				continue
			}
			room := i.headroom(v, i.limit(s, r, c))
			if room < 0 {
				t.Errorf("%s at its supported %.1f kW: %s is over its limit, %g", name, float64(support.Power)/q.KW, i.name, v)
			}
			if i.name == support.Limiting && support.Ends == "" && math.Abs(room) > 1e-3*math.Abs(v) {
				t.Errorf("%s: %s limits, and still has %g of %g left", name, i.name, room, v)
			}
		}
	}
}

func TestAdvise(t *testing.T) {
	now, levers, err := Advise(swap(), PlanningCriteria(swap()))
	if err != nil {
		t.Fatal(err)
	}
	if now.Limiting != "pump" {
		t.Errorf("limiting is %s: the smaller pump at 13.2 V limits the printed example", now.Limiting)
	}
	gains := map[string]q.Power{}
	for _, l := range levers {
		if !l.Possible {
			t.Errorf("%s: %s", l.Change, l.Why)
		}
		gains[l.Change] = l.Gain
	}
	if gains["pump-flow+=25 %"] <= 0 || gains["voltage+=0.5 V"] <= 0 || math.Abs(float64(gains["injector-flow+=25 %"])) > 1 {
		t.Errorf("gains %v: a limiting pump gains by flow and volts and not by injectors", gains)
	}
}

func TestWhatIf(t *testing.T) {
	s := turboFour()
	for _, c := range []struct {
		change string
		value  func(System) float64
		want   float64
	}{
		{"boost+=0.5 bar", func(s System) float64 { return float64(s.Engine.ManifoldMax) }, float64(kPaAbs(2.4))},
		{"boost+=0.5bar", func(s System) float64 { return float64(s.Engine.ManifoldMax) }, float64(kPaAbs(2.4))},
		{"boost=1 bar", func(s System) float64 { return float64(s.Engine.ManifoldMax) }, float64(kPaAbs(1))},
		{"manifold=300 kPa abs", func(s System) float64 { return float64(s.Engine.ManifoldMax) }, 300e3},
		{"manifold-=10 kPa", func(s System) float64 { return float64(s.Engine.ManifoldMax) }, float64(kPaAbs(1.8))},
		{"power+=10 %", func(s System) float64 { return float64(s.Engine.Power) }, 440e3},
		{"power=450 hp", func(s System) float64 { return float64(s.Engine.Power) }, 450 * q.HP},
		{"ethanol+=10 %", func(s System) float64 { return float64(s.Fuel.EthanolMax) }, 0.20},
		{"base=3.5 bar", func(s System) float64 { return float64(s.Regulator.Base) }, 3.5e5},
		{"voltage-=1 V", func(s System) float64 { return float64(s.Supply.Terminal) }, 12.2},
		{"pump-flow-=10 %", func(s System) float64 { return float64(s.Pumps[0].Curve[0].Flow) / q.LPerH }, 297},
		{"dead-time+=100 %", func(s System) float64 { return float64(s.Injectors.DeadTime[0].Time) / q.MS }, 1.9},
		{"feed-bore=11.1 mm", func(s System) float64 { return float64(s.Feed.Bore) / q.MM }, 11.1},
		{"temperature=50 degC", func(s System) float64 { return float64(s.Fuel.Temperature) }, 323.15},
	} {
		got, err := WhatIf(s, c.change)
		if err != nil {
			t.Errorf("%s: %v", c.change, err)
			continue
		}
		if v := c.value(got); math.Abs(v-c.want) > 1e-9*math.Abs(c.want) {
			t.Errorf("%s gives %g, want %g", c.change, v, c.want)
		}
	}
	if s.Pumps[0].Curve[0].Flow != p1().Curve[0].Flow || s.Injectors.DeadTime[0].Time != 0.95*q.MS {
		t.Error("the system given was changed")
	}
	for change, say := range map[string]string{
		"boost": "not of the form", "bost+=1 bar": "not known; known are power", "boost+=0.5": "without a unit", "boost+=0.5 kg": "is not a unit",
		"boost=+0.5 bar": "to add write boost+=0.5 bar", "return-bore=6 mm": "the system has no inside diameter of the return line",
	} {
		s := s
		s.Return = nil
		if _, err := WhatIf(s, change); err == nil || !strings.Contains(err.Error(), say) {
			t.Errorf("%s: %v, want %q in it", change, err, say)
		}
	}
}

// Ethanol changes the need at equal efficiency: by volume E85 over E10 1.3676,
// as the heating values by volume (US DOE AFDC, 34 % less energy in ethanol).
func TestWhatIfEthanolByEnergy(t *testing.T) {
	s := turboFour()
	before := plan(t, s)
	s, err := WhatIf(s, "ethanol=85 %")
	if err != nil {
		t.Fatal(err)
	}
	printed(t, "volume need of E85 over E10", float64(plan(t, s).Demand.Volume/before.Demand.Volume), 1.3676, 4)
}

func BenchmarkAdvise(b *testing.B) {
	s := turboFour()
	for b.Loop() {
		if _, _, err := Advise(s, PlanningCriteria(s)); err != nil {
			b.Fatal(err)
		}
	}
}
