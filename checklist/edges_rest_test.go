package checklist_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"feedproof/checklist"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// pullOf puts a loaded log with one value into the record.
func pullOf(name, unit string) func(float64) []edit {
	return func(x float64) []edit { return pull(loggedValue(name, num(x), unit)) }
}

func loggedValue(name, value, unit string) map[string]any {
	return map[string]any{"name": name, "value": value, "unit": unit, "at": "6.40"}
}

// pull is a log after the load reading; besides its own values it has a fall
// and a duty that are in order, which every loaded log must have.
func pull(values ...any) []edit {
	for _, needed := range []map[string]any{loggedValue("fall", "0.01", "bar"), loggedValue("duty", "70.0", "%")} {
		if !slices.ContainsFunc(values, func(v any) bool { return v.(map[string]any)["name"] == needed["name"] }) {
			values = append(values, needed)
		}
	}
	return []edit{{Add: &compact{Name: "pull", Kind: "datalog", By: "tuner-1", At: "+1452m", Data: map[string]any{
		"file": "pull-3.csv", "sha256": fmt.Sprintf("%064x", 7), "bytes": 482113, "run": "pull", "worst": values,
		"mapping": []any{map[string]any{"column": "rail", "channel": "rail pressure", "unit": "bar", "sensor": "gauge"}},
	}}, After: "load"}}
}

// flowOf is a timed flow of so many litres an hour.
func flowOf(litresPerHour float64) []edit {
	return []edit{change("flow", "volume", litresPerHour*28/3600)}
}

// planField sets a quantity of the plan.
func planField(field, unit string) func(float64) []edit {
	return func(x float64) []edit { return planSet(field, num(x), unit) }
}

// reliefOver sets the relief so many bar over an outlet pressure of 4.60 bar.
func reliefOver(x float64) []edit {
	return append(planSet("/outlet", "4.60", "bar"), edit{Part: "pump-1", Set: map[string]any{"/pump/relief": map[string]any{"value": num(4.60 + x), "unit": "bar"}}})
}

// stalledOver does the same by a reading of the stall pressure.
func stalledOver(x float64) []edit {
	return append(planSet("/outlet", "4.60", "bar"), edit{Add: &compact{Name: "relief", Kind: "reading", By: "tech-1", At: "+139m", Data: map[string]any{
		"test": "relief", "values": []any{map[string]any{"name": "stall", "value": num(4.60 + x), "unit": "bar", "gauge": "PG1"}}}}, After: "opening for flow"})
}

// mapped says that the map is fixed to 40 % ethanol, of which x points more
// are in the tank.
func mapped(x float64) []edit {
	return append(planSet("/fuel/mapped_ethanol", "40", "%"), change("ethanol", "ethanol", 40+x))
}

// hotIn is fuel so hot in a place, its vapour pressure unknown.
func hotIn(place string) func(float64) []edit {
	return func(x float64) []edit {
		return append([]edit{{Entry: "plan", Unset: []string{"/fuel/rvp"}}}, change("fuel temperature", place, x))
	}
}

func lambdaOff(x float64) []edit { return []edit{change("lambda", "measured", 0.8+x)} }

// tankCut cuts the tank with certificate and readings, and edits.
func tankCut(edits ...edit) []edit {
	gas := func(name, value, unit, gauge string) map[string]any {
		v := map[string]any{"name": name, "value": value, "unit": unit}
		if gauge != "" {
			v["gauge"] = gauge
		}
		return v
	}
	return append([]edit{
		{Entry: "vehicle", Set: map[string]any{"/tank": "tag T-17"}},
		{Add: &compact{Name: "certificate", Kind: "caution", By: "tech-2", At: "+84m", Data: map[string]any{"caution": "K09", "state": "met", "proof": "certificate 58",
			"certificate": map[string]any{"by": "tank cleaner, licence 58", "method": "steam 6 h", "tank": "tag T-17", "at": "2026-03-02T04:30:00Z"}}}, After: "a5"},
		{Add: &compact{Name: "gas in the tank", Kind: "reading", By: "tech-2", At: "+85m", Data: map[string]any{"test": "gas", "values": []any{
			gas("floor", "0", "% LEL", "GM1"), gas("work", "0", "% LEL", "GM1"), gas("tank", "0", "% LEL", "GM1"), gas("oxygen", "20.8", "%", "")}}}, After: "certificate"},
		{Add: &compact{Name: "HP3", Kind: "holdpoint", By: "tech-2", At: "+86m", Data: map[string]any{"point": "HP3", "action": "close", "second": "lead-2"}}, After: "gas in the tank"},
		{Add: &compact{Name: "cut", Kind: "step", By: "tech-2", At: "+87m", Data: map[string]any{"step": "c6", "state": "done", "joint": "tank top"}}, After: "HP3"},
	}, edits...)
}

func tankReading(name string, scale float64) func(float64) []edit {
	return func(x float64) []edit { return tankCut(change("gas in the tank", name, x*scale)) }
}

func certificateAge(hours float64) []edit {
	cut := time.Date(2026, 3, 2, 9, 27, 0, 0, time.UTC)
	at := cut.Add(-time.Duration(hours * float64(time.Hour)))
	return tankCut(edit{Entry: "certificate", Set: map[string]any{"/certificate/at": at.Format(time.RFC3339)}})
}

var restEdges = []edge{
	{"L03", "% of the log", [3]float64{84.9, 85, 85.1}, [3]schema.Severity{ok, ok, flag}, pullOf("duty", "%"), nil},
	{"L03", "% of the log", [3]float64{89.9, 90, 90.1}, [3]schema.Severity{flag, flag, hold}, pullOf("duty", "%"), nil},
	{"L03", "% of the log", [3]float64{94.9, 95, 95.1}, [3]schema.Severity{hold, hold, block}, pullOf("duty", "%"), nil},
	{"V-21", "share", [3]float64{0.099, 0.10, 0.101}, [3]schema.Severity{ok, ok, flag}, alone, []string{"L40"}},
	{"V-21", "share", [3]float64{0.149, 0.15, 0.151}, [3]schema.Severity{flag, flag, hold}, alone, []string{"L40"}},
	{"L04a", "bar of the log", [3]float64{0.099, 0.10, 0.101}, [3]schema.Severity{ok, ok, flag}, pullOf("shortfall", "bar"), nil},
	{"L04a", "bar of the log", [3]float64{0.199, 0.20, 0.201}, [3]schema.Severity{flag, flag, hold}, pullOf("shortfall", "bar"), nil},
	{"L04a", "bar of the log", [3]float64{0.299, 0.30, 0.301}, [3]schema.Severity{hold, hold, block}, pullOf("shortfall", "bar"), nil},
	{"L04a", "kPa of an engine without reference", [3]float64{104.9, 105, 105.1}, [3]schema.Severity{block, block, ok}, noReference, []string{"L02"}},
	{"L04a", "bar by hand", [3]float64{0.099, 0.10, 0.101}, [3]schema.Severity{ok, ok, flag}, func(x float64) []edit { return one("load", "rail")(4.2 - x) }, nil},
	{"L04a", "bar by hand", [3]float64{0.299, 0.30, 0.301}, [3]schema.Severity{hold, hold, block}, func(x float64) []edit { return one("load", "rail")(4.2 - x) }, nil},
	{"L04b", "bar", [3]float64{0.099, 0.10, 0.101}, [3]schema.Severity{ok, ok, flag}, pullOf("fall", "bar"), nil},
	{"L04b", "bar", [3]float64{0.199, 0.20, 0.201}, [3]schema.Severity{flag, flag, hold}, pullOf("fall", "bar"), nil},
	{"L04b", "bar", [3]float64{0.299, 0.30, 0.301}, [3]schema.Severity{hold, hold, block}, pullOf("fall", "bar"), nil},
	{"L04c", "% of command", [3]float64{89.9, 90, 90.1}, [3]schema.Severity{ok, ok, flag}, commanded, nil},
	{"L04c", "% of command", [3]float64{94.99, 95, 95.01}, [3]schema.Severity{flag, flag, hold}, commanded, nil},
	{"L05", "slope of the log", [3]float64{0.9701, 0.97, 0.9699}, [3]schema.Severity{ok, ok, flag}, loggedSlope(150), nil},
	{"L05", "slope of the log", [3]float64{0.941, 0.94, 0.939}, [3]schema.Severity{flag, flag, hold}, loggedSlope(150), nil},
	{"L05", "slope of the log", [3]float64{1.059, 1.06, 1.061}, [3]schema.Severity{flag, flag, hold}, loggedSlope(150), nil},
	{"L05", "slope of the log", [3]float64{0.801, 0.80, 0.799}, [3]schema.Severity{hold, hold, block}, loggedSlope(150), nil},
	{"L10", "V of the log", [3]float64{0.499, 0.5, 0.501}, [3]schema.Severity{ok, ok, flag}, pullOf("volts lost", "V"), nil},
	{"L10", "V of the log", [3]float64{1.49, 1.5, 1.51}, [3]schema.Severity{hold, hold, block}, pullOf("volts lost", "V"), nil},
	{"L10b", "V of the log", [3]float64{13.01, 13, 12.99}, [3]schema.Severity{ok, ok, flag}, pullOf("pump volts", "V"), nil},
	{"L10b", "V of the log", [3]float64{12.51, 12.5, 12.49}, [3]schema.Severity{flag, flag, hold}, pullOf("pump volts", "V"), nil},
	{"L25", "s of the log", [3]float64{1.9, 2, 2.1}, [3]schema.Severity{ok, ok, flag}, pullOf("pump stop", "s"), nil},
	{"L25", "s of the log", [3]float64{4.9, 5, 5.1}, [3]schema.Severity{flag, flag, hold}, pullOf("pump stop", "s"), nil},
	{"L13", "degC in the tank", [3]float64{49.9, 50, 50.1}, [3]schema.Severity{ok, ok, flag}, hotIn("tank"), nil},
	// 48.8 degC is where the fuel's vapour pressure stands 10 kPa under the
	// barometer of sea level. Source: AP-42 figure 7.1-14b, worked by hand.
	{"L13", "degC of what boils", [3]float64{48.6, 48.7, 48.9}, [3]schema.Severity{ok, ok, hold}, one("fuel temperature", "tank"), nil},
	{"L13", "% of ethanol in what boils", [3]float64{9.9, 10, 10.1}, [3]schema.Severity{hold, hold, ok}, func(x float64) []edit {
		return append(planSet("/envelope/ethanol_max", num(x), "%"), change("fuel temperature", "tank", 49.5))
	}, []string{"K25"}},
	{"L13", "degC in the rail", [3]float64{59.9, 60, 60.1}, [3]schema.Severity{flag, flag, hold}, hotIn("rail"), nil},
	{"L13", "degC in the log", [3]float64{49.9, 50, 50.1}, [3]schema.Severity{ok, ok, flag}, pullOf("fuel temperature", "degC"), nil},
	{"L14", "lean", [3]float64{0.0299, 0.03, 0.0301}, [3]schema.Severity{ok, ok, flag}, lambdaOff, nil},
	{"L14", "lean", [3]float64{0.049, 0.05, 0.051}, [3]schema.Severity{flag, flag, block}, lambdaOff, nil},
	{"L14", "rich", [3]float64{-0.0299, -0.03, -0.0301}, [3]schema.Severity{ok, ok, flag}, lambdaOff, nil},
	{"L14", "rich", [3]float64{-0.079, -0.08, -0.081}, [3]schema.Severity{flag, flag, hold}, lambdaOff, nil},
	{"L14", "lean in the log", [3]float64{0.049, 0.05, 0.051}, [3]schema.Severity{flag, flag, block}, pullOf("lean", "lambda"), nil},
	{"L14", "rich in the log", [3]float64{0.079, 0.08, 0.081}, [3]schema.Severity{flag, flag, hold}, pullOf("rich", "lambda"), nil},
	{"L18", "points more", [3]float64{4.99, 5, 5.01}, [3]schema.Severity{ok, ok, flag}, mapped, []string{"L53"}},
	{"L18", "points more", [3]float64{9.99, 10, 10.01}, [3]schema.Severity{flag, flag, block}, mapped, []string{"L53"}},
	{"L18", "points less", [3]float64{-4.99, -5, -5.01}, [3]schema.Severity{ok, ok, flag}, mapped, []string{"L53"}},
	{"L18", "points less", [3]float64{-9.99, -10, -10.01}, [3]schema.Severity{flag, flag, hold}, mapped, []string{"L53"}},
	{"L24", "bar", [3]float64{0.499, 0.5, 0.501}, [3]schema.Severity{ok, ok, flag}, pullOf("pulsation", "bar"), nil},
	{"L24", "bar", [3]float64{0.99, 1.0, 1.01}, [3]schema.Severity{flag, flag, hold}, pullOf("pulsation", "bar"), nil},
	{"L28", "bar by the papers", [3]float64{0.501, 0.5, 0.499}, [3]schema.Severity{ok, ok, flag}, reliefOver, nil},
	{"L28", "bar by the papers", [3]float64{0.201, 0.2, 0.199}, [3]schema.Severity{flag, flag, hold}, reliefOver, nil},
	{"L28", "bar by the papers", [3]float64{0.01, 0, -0.01}, [3]schema.Severity{hold, hold, block}, reliefOver, nil},
	{"L28", "bar stalled", [3]float64{0.501, 0.5, 0.499}, [3]schema.Severity{ok, ok, flag}, stalledOver, nil},
	{"L28", "bar stalled", [3]float64{0.201, 0.2, 0.199}, [3]schema.Severity{flag, flag, hold}, stalledOver, nil},
	{"K06", "V", [3]float64{0.09, 0.1, 0.11}, [3]schema.Severity{ok, ok, hold}, one("plug", "volts"), nil},
	{"K09", "% LEL", [3]float64{0.98, 1, 1.02}, [3]schema.Severity{ok, hold, hold}, tankReading("tank", 0.5), []string{"K01"}},
	{"K09", "% oxygen", [3]float64{19.6, 19.5, 19.4}, [3]schema.Severity{ok, ok, hold}, tankReading("oxygen", 1), nil},
	{"K09", "% oxygen", [3]float64{23.4, 23.5, 23.6}, [3]schema.Severity{ok, ok, hold}, tankReading("oxygen", 1), nil},
	{"K09", "min before", [3]float64{14, 15, 16}, [3]schema.Severity{ok, ok, hold}, func(x float64) []edit {
		return tankCut(edit{Entry: "gas in the tank", At: fmt.Sprintf("+%gm", 87-x)})
	}, nil},
	{"K09", "h of the certificate", [3]float64{23.9, 24, 24.1}, [3]schema.Severity{ok, ok, hold}, certificateAge, nil},
	{"K12", "degC", [3]float64{59.9, 60, 60.1}, [3]schema.Severity{ok, ok, hold}, one("surface", "temperature"), nil},
	{"K24", "% LEL", [3]float64{0.98, 1, 1.02}, [3]schema.Severity{ok, block, block}, func(x float64) []edit { return one("gas when hot", "cabin")(x / 2) }, []string{"K01"}},
	{"K33", "L", [3]float64{0.49, 0.5, 0.51}, [3]schema.Severity{ok, ok, hold}, spilled, nil},
	{"X01", "min after the pump ran", [3]float64{10.1, 10, 9.9}, [3]schema.Severity{ok, ok, unproven}, func(x float64) []edit {
		return []edit{{Entry: "leak-down", At: fmt.Sprintf("+%gs", (150+x)*60)}}
	}, nil},
	{"X06", "points", [3]float64{1.9, 2, 2.1}, [3]schema.Severity{ok, ok, hold}, pullOf("duty off", "%"), nil},
	{"X07", "bar", [3]float64{0.029, 0.03, 0.031}, [3]schema.Severity{ok, ok, hold}, pullOf("pressure off", "bar"), nil},
	{"X08", "kW", [3]float64{329, 330, 331}, [3]schema.Severity{ok, ok, hold}, pullOf("power", "kW"), nil},
	{"X12", "bar at rest", [3]float64{0.96, 0.97, 1.01}, [3]schema.Severity{ok, hold, hold}, func(x float64) []edit { return one("zero again", "rail")(x) }, []string{"K05"}},
	{"X35", "% LEL", [3]float64{0.1, 0, -0.1}, [3]schema.Severity{ok, ok, unproven}, one("gas when hot", "work"), nil},
	{"X35", "% of ethanol", [3]float64{0.1, 0, -0.1}, [3]schema.Severity{ok, ok, unproven}, one("ethanol", "ethanol"), nil},
	{"X35", "lambda", [3]float64{0.41, 0.4, 0.39}, [3]schema.Severity{ok, ok, unproven}, one("lambda", "target"), []string{"L14"}},
	{"X35", "s", [3]float64{0.1, 0, -0.1}, [3]schema.Severity{ok, ok, unproven}, one("prime", "time"), nil},
	{"X35", "A", [3]float64{20, 0, -0.1}, [3]schema.Severity{ok, ok, unproven}, one("prime", "current"), nil},
	{"X35", "degC", [3]float64{-89, -90, -91}, [3]schema.Severity{ok, ok, unproven}, one("fuel temperature", "tank"), nil},
	{"X35", "kPa below the barometer", [3]float64{-109, -110, -111}, [3]schema.Severity{ok, ok, unproven}, one("vent", "tank"), []string{"L30"}},
	{"X35", "% of duty", [3]float64{119, 120, 121}, [3]schema.Severity{ok, ok, unproven}, pullOf("duty", "%"), []string{"L03"}},
	{"X13", "% in the log", [3]float64{18.9, 19, 19.1}, [3]schema.Severity{ok, ok, hold}, pullOf("ethanol", "%"), nil},
}

// commanded takes the timed flow away and leaves the pump's command.
func commanded(x float64) []edit {
	return append([]edit{{Entry: "flow", Remove: true}}, pullOf("pump command", "%")(x)...)
}

// alone is two pumps run by themselves, whose currents are a share apart.
func alone(x float64) []edit {
	run := func(name, at, after string, amperes float64) edit {
		values := []any{
			map[string]any{"name": "rail", "value": "3.00", "unit": "bar", "gauge": "PG1"},
			map[string]any{"name": "current", "value": num(amperes), "unit": "A", "gauge": "CM1"},
		}
		return edit{Add: &compact{Name: name, Kind: "reading", By: "tech-1", At: at, Data: map[string]any{"test": "pump alone", "values": values}}, After: after}
	}
	return []edit{
		{Entry: "plan", Set: map[string]any{"/pumps/count": 2, "/pumps/arrangement": "parallel", "/return/bore/value": "12.5"}},
		{Entry: "flow", Set: map[string]any{"/values/volume/value": "4.20"}},
		run("pump 1 alone", "+131m", "base", 10), run("pump 2 alone", "+132m", "pump 1 alone", 10*(1+x)),
	}
}

// noReference is a regulator open to the air at a manifold pressure, and a rail
// that falls by 1 bar under load.
func noReference(x float64) []edit {
	return vented(edit{Entry: "plan", Set: map[string]any{"/envelope/manifold/value": num(x)}}, change("load", "rail", 2.0, "manifold", 101.3))
}

// loggedSlope is a log with that slope over so many kPa.
func loggedSlope(span float64) func(float64) []edit {
	return func(x float64) []edit {
		return pull(loggedValue("slope", num(x), "ratio"), loggedValue("slope span", num(span), "kPa"))
	}
}

func spilled(x float64) []edit {
	return []edit{{Add: &compact{Name: "spill", Kind: "reading", By: "tech-1", At: "+140m", Data: map[string]any{
		"test": "spill", "values": []any{map[string]any{"name": "volume", "value": num(x), "unit": "L"}}}}, After: "flow"}}
}

// furtherEdges are those above and those that follow from the plan. The curve
// of the clean car's pump at 4.45 bar and 13.2 V is 270.8 L/h by hand: 284.25
// at 13.5 V and 217 at 12 V, each between its points at 4 and 5 bar. Its
// highest rail pressure is 3.0 + 2.21325 - 1.01325 bar.
func furtherEdges(t *testing.T) []edge {
	t.Helper()
	b := loadBase(t, "clean").build(t)
	r, err := checklist.Plan(checklist.Assess(b.record, b.shop, b.moment).Car)
	if err != nil {
		t.Fatal(err)
	}
	return slices.Concat(restEdges, hoseRatios(float64(r.Highest.Outlet)/quantity.Bar), flowRatios(270.8, quantity.In(r.Demand.Volume, "L/h")))
}

// hoseRatios sets the feed's working pressure so many times the highest pressure
// at the pump of the clean car, whose relief then opens below the hose's.
func hoseRatios(highest float64) []edge {
	set := func(x float64) []edit {
		return append(planField("/feed/working_pressure", "bar")(highest*x), edit{Part: "pump-1", Set: map[string]any{"/pump/relief/value": "5.02"}})
	}
	return []edge{
		{"L27", "x the outlet", [3]float64{2.01, 2, 1.99}, [3]schema.Severity{ok, ok, flag}, set, nil},
		{"L27", "x the outlet", [3]float64{1.51, 1.5, 1.49}, [3]schema.Severity{flag, flag, hold}, set, nil},
		{"L27", "x the outlet", [3]float64{1.21, 1.2, 1.19}, [3]schema.Severity{hold, hold, block}, set, nil},
	}
}

// flowRatios sets the timed flow so many times what the curve says, and so
// many times the demand.
func flowRatios(curve, demand float64) []edge {
	ofCurve := func(x float64) []edit { return flowOf(curve * x) }
	ofDemand := func(x float64) []edit { return flowOf(demand * x) }
	return []edge{
		{"L21", "x the curve", [3]float64{0.901, 0.90, 0.899}, [3]schema.Severity{ok, ok, flag}, ofCurve, nil},
		{"L21", "x the curve", [3]float64{0.851, 0.85, 0.849}, [3]schema.Severity{flag, flag, hold}, ofCurve, nil},
		{"L21", "x the curve", [3]float64{1.099, 1.10, 1.101}, [3]schema.Severity{ok, ok, schema.Note}, ofCurve, nil},
		{"L21", "x the curve", [3]float64{1.149, 1.15, 1.151}, [3]schema.Severity{schema.Note, schema.Note, flag}, ofCurve, nil},
		{"L21", "x the demand", [3]float64{1.001, 1, 0.999}, [3]schema.Severity{hold, hold, block}, ofDemand, []string{"L04c"}},
		{"L04c", "x the demand", [3]float64{1.101, 1.10, 1.099}, [3]schema.Severity{ok, ok, flag}, ofDemand, []string{"L21"}},
		{"L04c", "x the demand", [3]float64{1.051, 1.05, 1.049}, [3]schema.Severity{flag, flag, hold}, ofDemand, []string{"L21"}},
	}
}
