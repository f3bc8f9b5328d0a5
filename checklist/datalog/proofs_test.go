package datalog

import (
	"math"
	"testing"

	"feedproof/checklist/datalogtest"
)

// TestProofs: each defect of a log is said, in the state it deserves, and is
// not said of a good log.
func TestProofs(t *testing.T) {
	cols := datalogtest.With(datalogtest.Duty, datalogtest.Stage, datalogtest.Lateral, datalogtest.LoggedDrop)
	on := func(s *datalogtest.Shot) {
		if inPull(s) {
			s.Stage = 1
		}
	}
	good := datalogtest.Drive{Rate: 50, Mutate: on}
	base := analyseAs(t, good, cols, datalogtest.Plain(), testConditions)
	changed := func(f func(*datalogtest.Shot)) datalogtest.Drive {
		return datalogtest.Drive{Mutate: func(s *datalogtest.Shot) { on(s); f(s) }}
	}
	condition := func(f func(*Conditions)) Conditions {
		c := testConditions
		f(&c)
		return c
	}
	held := 0.0
	tests := []struct {
		name, check string
		drive       datalogtest.Drive
		conditions  Conditions
		want        ProofState
	}{
		{"short pulls", "length", datalogtest.Drive{PullTime: 2, Mutate: on}, testConditions, Unproven},
		{"one pull", "repeats", datalogtest.Drive{Pulls: 1, Mutate: on}, testConditions, Unproven},
		{"five times a second", "rate", datalogtest.Drive{Rate: 5, Mutate: on}, testConditions, Unproven},
		{"no hose-off idle", "base", good, condition(func(c *Conditions) { c.HoseOff = Span{} }), Unproven},
		{"base of a gauge", "base", good, condition(func(c *Conditions) { c.HoseOff, c.Base = Span{}, 3e5 }), Unproven},
		{"charger", "charger", good, condition(func(c *Conditions) { c.Charger = Yes }), Unproven},
		{"charger not said", "charger", good, condition(func(c *Conditions) { c.Charger = Unknown }), Unproven},
		{"too smooth", "noise", datalogtest.Drive{Noise: 1e-6, Mutate: func(s *datalogtest.Shot) {
			on(s)
			s.Rail = math.Round(s.Drop*1e3)/1e3 + (s.MAP-datalogtest.Barometer)/100
		}}, testConditions, Unproven},
		{"held samples", "held samples", changed(func(s *datalogtest.Shot) {
			if inPull(s) && s.RPM > 5000 && s.RPM < 6000 {
				if held == 0 {
					held = s.Rail
				}
				s.Rail = held
			}
		}), testConditions, Unproven},
		{"absolute taken for gauge", "rail zero", changed(func(s *datalogtest.Shot) { s.Rail += 1.013 }), testConditions, Unproven},
		{"manifold off at rest", "key on", changed(func(s *datalogtest.Shot) { s.MAP += 5 }), testConditions, Unproven},
		{"no key on", "key on", datalogtest.Drive{StartAt: datalogtest.KeyOnEnd, Mutate: on}, testConditions, Auditor},
		{"duty of another bank", "duty", changed(func(s *datalogtest.Shot) { s.Duty *= 47.0 / 70.2 }), testConditions, Unproven},
		{"typed difference", "difference", changed(func(s *datalogtest.Shot) { s.Drop += 0.05 }), testConditions, Unproven},
		{"second stage never ran", "second stage", datalogtest.Drive{}, testConditions, Unproven},
		{"second stage above the log", "second stage", good, condition(func(c *Conditions) { c.StageAt = 320e3 }), Unproven},
		{"gaps", "time", changed(func(s *datalogtest.Shot) {
			if s.T > 30 {
				s.T += 2
			}
		}), testConditions, Auditor},
		{"time goes back", "time", changed(func(s *datalogtest.Shot) {
			if s.T > 30 {
				s.T -= 10
			}
		}), testConditions, Auditor},
		{"ends before the stop", "pump stop", datalogtest.Drive{Mutate: on, EndAt: datalogtest.IdleEnd + 3*15}, testConditions, Unproven},
		{"out of range", "range", changed(func(s *datalogtest.Shot) { s.Lambda = 20 }), testConditions, Auditor},
		{"0 Hz alias", "alias", changed(func(s *datalogtest.Shot) {
			if inPull(s) {
				s.RPM = 6000
			}
		}), condition(func(c *Conditions) { c.Cylinders = 8 }), Unproven},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			if got := proofOf(t, base, test.check); got.State != Proven {
				t.Errorf("a good log: %s: %s", got.State, got.Text)
			}
			r := analyseAs(t, test.drive, cols, datalogtest.Plain(), test.conditions)
			if got := proofOf(t, r, test.check); got.State != test.want {
				t.Errorf("%s is %s (%s), want %s", test.check, got.State, got.Text, test.want)
			}
		})
	}
}

func proofOf(t *testing.T, r Result, check string) Proof {
	t.Helper()
	for _, p := range r.Proofs {
		if p.Check == check {
			return p
		}
	}
	t.Fatalf("no proof called %q", check)
	return Proof{}
}
