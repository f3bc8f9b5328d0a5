package datalog

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"testing"

	"feedproof/checklist/datalogtest"
	"feedproof/schema/quantity"
)

// logCase is one of the trade notes' logs: healthy and seven faults. The causes
// are the notes'; the data are invented, by the network of package fuel.
type logCase struct {
	fault datalogtest.Fault
	drive datalogtest.Drive
	first string // the signature that must be named first, "" for none
}

var logCases = func() (out []logCase) {
	for fault, first := range map[datalogtest.Fault]string{
		datalogtest.Healthy: "", datalogtest.Relief: "S01", datalogtest.WornPump: "S02", datalogtest.VoltageSag: "S04",
		datalogtest.ReferenceLeak: "S05", datalogtest.Offset: "S06", datalogtest.Restriction: "S03", datalogtest.NoReference: "S05",
	} {
		out = append(out, logCase{fault, datalogtest.Example(fault).Drive(), first})
	}
	slices.SortFunc(out, func(a, b logCase) int { return cmp.Compare(a.fault, b.fault) })
	return out
}()

// faulty is the drive of the example car with a fault.
func faulty(f datalogtest.Fault) datalogtest.Drive { return datalogtest.Example(f).Drive() }

// TestLogsAreNamed: each fault is named first, at every usual rate, and the
// healthy log names nothing.
func TestLogsAreNamed(t *testing.T) {
	for _, c := range logCases {
		for _, rate := range []float64{10, 20, 50, 100} {
			t.Run(fmt.Sprintf("%s at %v Hz", c.fault, rate), func(t *testing.T) {
				c.drive.Rate = rate
				r := analyse(t, c.drive, testConditions)
				first := ""
				if named := r.Named(); len(named) > 0 {
					first = named[0].ID
				}
				if first != c.first {
					t.Errorf("named %q first, want %q\n%s", first, c.first, describe(r))
				}
			})
		}
	}
}

// TestLogNumbers: what is computed from a log of known make, within the noise
// that was put in (0.01 bar a sample).
func TestLogNumbers(t *testing.T) {
	near := func(what string, got, want, within float64) {
		t.Helper()
		if !(math.Abs(got-want) <= within) {
			t.Errorf("%s is %v, want %v within %v", what, got, want, within)
		}
	}
	tests := []struct {
		fault                  datalogtest.Fault
		shortfall, fall, slope float64
	}{
		{datalogtest.Healthy, 0, 0, 1},
		{datalogtest.ReferenceLeak, 0.2846, 0.2846, 0.85},
		{datalogtest.Offset, 0.30, 0, 1},
		{datalogtest.Restriction, 0.36, 0.355, math.NaN()},
	}
	for _, c := range tests {
		r := analyse(t, faulty(c.fault), testConditions)
		if !r.Base.Known || !r.Light.Known || !r.Shortfall.Known || !r.Fall.Known || !r.Slope.Known {
			t.Fatalf("%s: not computed: %+v", c.fault, r)
		}
		t.Log(c.fault)
		near("base, bar", quantity.In(r.Base.Value, "bar"), datalogtest.Base, 0.01)
		near("shortfall, bar", quantity.In(r.Shortfall.Value, "bar"), c.shortfall, 0.03)
		near("fall, bar", quantity.In(r.Fall.Value, "bar"), c.fall, 0.04)
		if c.slope == c.slope {
			near("slope", float64(r.Slope.Slope), c.slope, 0.02)
		}
		near("duty", float64(r.Duty.Value), datalogtest.FullDuty/100+datalogtest.DeadTime*7200/120e3, 0.01)
		near("lean", float64(r.Lean.Value), datalogtest.Target*(math.Sqrt(datalogtest.Base/(datalogtest.Base-c.shortfall))-1), 0.01)
		near("volts lost", float64(r.VoltsLost.Value), 13.9-13.3, 0.05)
		near("pump voltage", float64(r.PumpVoltage.Value), 13.3, 0.02)
		near("fuel temperature", r.Temperature.Value.Celsius(), 30, 0.01)
		near("ethanol", float64(r.Ethanol.Value), 0.10, 1e-9)
		near("pump stop, s", float64(r.PumpStop.After), 1, 0.05)
		near("pulls", float64(r.Loaded), 3, 0)
		near("rail rate", float64(r.Timing.RailRate), 50, 0.5)
		near("worst pull points", float64(len(r.Worst)), 70, 2)
	}
}

// TestImpliedPower is the trade notes' example 1 (calculated there): four
// injectors of 930.7 g/min at 3.0 bar at 64.5 % effective duty are 144 kg/h,
// which at 0.360 kg/kWh is 400 kW.
func TestImpliedPower(t *testing.T) {
	c := testConditions
	static, err := quantity.Parse[quantity.MassFlow]("930.7 g/min")
	if err != nil {
		t.Fatal(err)
	}
	consumption, err := quantity.Parse[quantity.SpecificConsumption]("0.360 kg/kWh")
	if err != nil {
		t.Fatal(err)
	}
	c.Consumption = consumption
	c.Injectors = Injectors{Count: 4, Static: static, Rated: quantity.Difference(3e5),
		Dead: func(quantity.Voltage, quantity.Difference) quantity.Duration {
			return datalogtest.DeadTime * quantity.MS
		}}
	r := analyse(t, datalogtest.Drive{}, c)
	if flow := quantity.In(r.Flow.Value, "kg/h"); !(math.Abs(flow-144.0) < 2.5) {
		t.Errorf("implied flow %.1f kg/h at its worst 0.3 s, want 144", flow)
	}
	if power := quantity.In(r.Power.Value, "kW"); !(math.Abs(power-400) < 7) {
		t.Errorf("implied power %.1f kW, want 400", power)
	}
}

// TestOneNumberCannotName: at the top of the pull four faults have the same
// pressure difference, and are told apart all the same (trade notes, lessons).
func TestOneNumberCannotName(t *testing.T) {
	names := map[string]bool{}
	for _, f := range []datalogtest.Fault{datalogtest.Relief, datalogtest.ReferenceLeak, datalogtest.Offset, datalogtest.Restriction} {
		r := analyse(t, faulty(f), testConditions)
		if low := quantity.In(r.LowestDrop.Value, "bar"); low < 2.60 || low > 2.75 {
			t.Errorf("%s: lowest %.2f bar, not like the others", f, low)
		}
		for _, s := range r.Named() {
			names[s.ID] = true
			break
		}
	}
	if len(names) != 4 {
		t.Errorf("four faults got the names %v", names)
	}
}

// TestLogStartsLate is the notes' log E from 285 kPa on: no light load, so the
// fall and the slope are unproven, while the shortfall against a base read on
// the same sensor stands.
func TestLogStartsLate(t *testing.T) {
	late := datalogtest.IdleEnd + 6 + 7*(4000.0-3000)/4200
	c := Conditions{Cylinders: 4, Charger: No, Base: quantity.Difference(3e5), SameSensor: true}
	r := analyse(t, datalogtest.Drive{Across: faulty(datalogtest.ReferenceLeak).Across, Pulls: 1, StartAt: late, EndAt: datalogtest.IdleEnd + 6 + 6.99}, c)
	if r.Fall.Known || r.Slope.Known {
		t.Errorf("fall %+v and slope %+v from a log without light load", r.Fall, r.Slope)
	}
	if s := quantity.In(r.Shortfall.Value, "bar"); !(s > 0.25 && s < 0.34) {
		t.Errorf("shortfall %.2f bar, notes 0.29", s)
	}
	for _, limit := range []string{"L04b", "L05"} {
		if len(unproven(r, limit)) == 0 {
			t.Errorf("%s is not unproven\n%s", limit, describe(r))
		}
	}
	if p := unproven(r, "L04a"); len(p) != 0 {
		t.Errorf("L04a is unproven: %v", p)
	}
}

// TestHealthyIsProven: a good log leaves nothing about its pressures unproven.
func TestHealthyIsProven(t *testing.T) {
	r := analyse(t, datalogtest.Drive{}, testConditions)
	for _, limit := range []string{"L03", "L04a", "L04b", "L05", "L10", "L13", "L14", "L25", "X06", "X13"} {
		for _, p := range unproven(r, limit) {
			t.Errorf("%s: %s: %s", limit, p.Check, p.Text)
		}
	}
	for _, p := range r.Proofs {
		if p.State == Auditor {
			t.Errorf("for the auditor: %s: %s", p.Check, p.Text)
		}
	}
	if len(unproven(r, "L24")) != 1 {
		t.Errorf("pulsation at 50 Hz is said to be proven")
	}
}

// unproven lists what keeps the log from proving a limit, by the limit's id.
func unproven(r Result, limit string) []Proof {
	var out []Proof
	for _, p := range r.Proofs {
		if p.State == Unproven && slices.Contains(p.Limits, limit) {
			out = append(out, p)
		}
	}
	return out
}
