package checklist_test

import (
	"slices"

	"feedproof/schema"
)

// pumpsInSeries times two pumps, one behind the other, at 8 bar and 13.2 V.
// Each has 4 bar then, and its curve gives 287 L/h there by hand: 300 at 13.5 V
// and 235 at 12 V.
func pumpsInSeries(ofCurve float64) []edit {
	return []edit{{Entry: "plan", Set: map[string]any{"/pumps/count": 2, "/pumps/arrangement": "series"}},
		change("flow", "pressure", 8.0, "volume", 287*ofCurve*28/3600)}
}

// recordVerdicts are those of what was measured beside a limit.
var recordVerdicts = []verdict{
	{"L21", "two pumps in series, 0.905 of the curve", ok, pumpsInSeries(0.905), []string{"L01", "L02", "V-21"}, ""},
	{"L21", "two pumps in series, 0.895 of the curve", flag, pumpsInSeries(0.895), []string{"L01", "L02", "V-21"}, ""},
	{"L21", "two pumps in series, 1.145 of the curve", schema.Note, pumpsInSeries(1.145), []string{"L01", "L02", "V-21"}, ""},
	{"L21", "half a second", unproven, []edit{change("flow", "volume", 2.1*0.5/28, "time", 0.5)}, []string{"L04c"}, ""},
	{"X06", "a log that cannot prove the duty contradicts nothing", ok, unprovable("X06", loggedValue("duty off", "1.0", "%")), nil, ""},
	{"X06", "a log that contradicts, proven or not", hold, unprovable("X06", loggedValue("duty off", "3.0", "%")), nil, ""},
	{"X06", "a hair over", hold, pull(loggedValue("duty off", "2.02", "%")), nil, ""},
	{"X07", "a hair over", hold, pull(loggedValue("pressure off", "0.0303", "bar")), nil, ""},
	{"X08", "a hair over", hold, pull(loggedValue("power", "330.3", "kW")), nil, ""},
	{"X16", "a certificate that names no tank", ok, tankCut(edit{Entry: "certificate", Unset: []string{"/certificate/tank"}}), []string{"K09"}, ""},
	{"X16", "a tank without a tag", ok, append(tankCut(), edit{Entry: "vehicle", Unset: []string{"/tank"}}), []string{"K09"}, ""},
	{"X16", "a certificate, and nothing cut yet", ok, tankCut(taken("cut"), taken("HP3")), []string{"K09"}, ""},
	{"X16", "a certificate of another tank on one that never held fuel", ok, newTank(edit{Entry: "certificate", Set: map[string]any{"/certificate/tank": "tag T-18"}}), nil, ""},
	{"L04b", "a bad fall stays bad in a log that proves nothing", hold, unprovable("L04b", loggedValue("fall", "0.25", "bar")), nil, ""},
}

// allVerdicts are those of limits, cautions and records.
var allVerdicts = slices.Concat(verdicts, cautionVerdicts, recordVerdicts)

// put adds an entry behind another, or at the end.
func put(name, kind, at, after string, data map[string]any) edit {
	return edit{Add: &compact{Name: name, Kind: kind, By: "tech-1", At: at, Data: data}, After: after}
}

func valued(name, value, unit, gauge string) map[string]any {
	v := map[string]any{"name": name, "value": value, "unit": unit}
	if gauge != "" {
		v["gauge"] = gauge
	}
	return v
}

func readAs(test string, values ...any) map[string]any {
	return map[string]any{"test": test, "values": values}
}

func gasOf(name, at, after, floor string) edit {
	return put(name, "reading", at, after, readAs("gas", valued("floor", floor, "% LEL", "GM1"), valued("work", "0", "% LEL", "GM1")))
}

func surfaceOf(name, at, after, degrees string) edit {
	return put(name, "reading", at, after, readAs("surface", valued("temperature", degrees, "degC", "TH1")))
}

func spillOf(at, after string) edit {
	return put("spill", "reading", at, after, readAs("spill", valued("volume", "0.8", "L", "")))
}

func incidentOf(at, after string) edit {
	return put("incident", "incident", at, after, map[string]any{"what": "0.8 L on the floor", "severity": "minor", "injury": "no", "action": "soaked up, bay aired"})
}

func sawCaution(id, at, after string) edit {
	return put(id+" seen", "caution", at, after, map[string]any{"caution": id, "state": "seen", "where": "floor"})
}

// earlier opens a visit before the one that is judged.
func earlier(edits ...edit) []edit {
	first := put("visit 0", "visit", "-40m", "vehicle", map[string]any{"action": "open", "visit": "0", "kinds": []any{"b"}, "odometer": map[string]any{"value": "183000", "unit": "km"}, "reason": "estimate"})
	return append([]edit{first}, edits...)
}

// newTank cuts a tank that never held fuel.
func newTank(edits ...edit) []edit {
	return append(tankCut(), append([]edit{
		{Entry: "vehicle", Set: map[string]any{"/tank_ever_fuelled": "no"}},
		put("K10", "caution", "+83m", "a5", map[string]any{"caution": "K10", "state": "met", "proof": "invoice 88 of this week, photo 4 of it sealed"}),
	}, edits...)...)
}

func pumpClass(class string) edit {
	if class == "" {
		return edit{Part: "pump-1", Unset: []string{"/pump/class"}}
	}
	return edit{Part: "pump-1", Set: map[string]any{"/pump/class": class}}
}

// cautionVerdicts are those of rules about people's safety. Source: the trade's
// catalogue of cautions, common practice, unless beside it.
var cautionVerdicts = []verdict{
	{"K01", "vapour in the bay, and no meter named for the floor", stop, append(gasLate(0), edit{Entry: "gas late", Set: map[string]any{"/values/floor": valued("floor", "6", "% LEL", "")}}), untested, ""},
	{"K01", "one joint opened in vapour, the next in clean air", hold, []edit{change("gas", "floor", 1.0), gasOf("gas clean", "+79m", "opening", "0")}, nil, ""},
	{"K04", "inspected last year, said in the visit before", unproven, earlier(taken("K04"),
		put("K04", "caution", "-30m", "visit 0", map[string]any{"caution": "K04", "state": "met", "proof": "extinguishers 3 and 4", "inspected": "2024-11-01"})), nil, ""},
	{"K06", "a plug that was dead for another joint mends no tank", hold, append(openedAgain(taken("plug")), put("plug late", "reading", "+1607m", "zero late", readAs("plug", valued("volts", "0.00", "V", "DM1")))), untested, ""},
	{"K07", "nobody read the bond", unproven, []edit{taken("bond"), taken("bond again")}, nil, ""},
	{"K09", "certified and read in the minute of the cut", ok, tankCut(edit{Entry: "gas in the tank", At: "+87m"}, edit{Entry: "certificate", Set: map[string]any{"/certificate/at": "2026-03-02T09:27:00Z"}}), nil, ""},
	{"K09", "read a minute after the cut, by the clock", hold, tankCut(edit{Entry: "gas in the tank", At: "+88m"}), []string{"K01"}, ""},
	{"K09", "certified a minute after the cut", hold, tankCut(edit{Entry: "certificate", Set: map[string]any{"/certificate/at": "2026-03-02T09:28:00Z"}}), []string{"X16"}, ""},
	{"K09", "answered again without the certificate", ok, tankCut(put("K09 again", "caution", "+85m", "gas in the tank", map[string]any{"caution": "K09", "state": "met", "proof": "fire watch stands by"})), nil, ""},
	{"K09", "another caution says something after the certificate", ok, tankCut(put("K36 again", "caution", "+85m", "gas in the tank", map[string]any{"caution": "K36", "state": "met", "proof": "charger on the wall"})), nil, ""},
	{"K10", "new, proven, read", ok, newTank(), nil, ""},
	{"K10", "oxygen is not asked in a tank that was never cleaned", ok, newTank(change("gas in the tank", "oxygen", 18.0)), nil, ""},
	{"K10", "shown new in the visit before", hold, earlier(newTank(taken("K10"),
		put("K10", "caution", "-30m", "visit 0", map[string]any{"caution": "K10", "state": "met", "proof": "invoice 88 of this week, photo 4 of it sealed"}))...), nil, ""},
	{"K12", "hot for one joint, cool for a later one", flag, []edit{change("surface", "temperature", 65.0), surfaceOf("surface again", "+137m", "zero again", "35")}, nil, ""},
	{"K12", "hot, and hot again later", hold, []edit{change("surface", "temperature", 65.0), surfaceOf("surface again", "+137m", "zero again", "66")}, nil, ""},
	{"K12", "cool for one joint, hot for a later one", hold, []edit{surfaceOf("surface again", "+137m", "zero again", "65")}, nil, ""},
	{"K12", "a thermometer that is not named", ok, []edit{{Entry: "surface", Set: map[string]any{"/values/temperature": valued("temperature", "35", "degC", "")}}}, nil, ""},
	{"K12", "a thermometer that is out of date", unproven, []edit{{Gauge: "TH2", Add: &compact{Name: "gauge", Kind: "gauge", By: "lead-1", At: "-30d", Data: map[string]any{"name": "old thermometer", "measures": "temperature", "accuracy": map[string]any{"value": "0.5", "unit": "degC"}, "resolution": map[string]any{"value": "1", "unit": "degC"}}}},
		{Gauge: "TH2", Add: &compact{Name: "calibration", Kind: "calibration", By: "lead-1", At: "-30d", Data: map[string]any{"date": "2024-01-15", "due": "2025-01-15"}}}, by("TH2", "surface", "temperature")}, nil, ""},
	{"K20", "a spill was seen, no leak", ok, []edit{sawCaution("K33", "+1606m", ""), gasOf("gas after", "+1608m", "", "0"), incidentOf("+1609m", "")}, nil, ""},
	{"K20", "a joint was damp, and was passed over in the later test", stop, []edit{
		{Entry: "leak by another", Set: map[string]any{"/values/rail/seen": "damp"}}, {Entry: "last leak", Set: map[string]any{"/values/rail": map[string]any{"name": "rail", "state": "not measured", "why": "no mirror"}}}}, []string{"V-06", "HP5"}, ""},
	{"K24", "the cabin was read without a meter named", unproven, []edit{{Entry: "gas when hot", Set: map[string]any{"/values/cabin": valued("cabin", "0", "% LEL", "")}}}, nil, ""},
	{"K24", "the cabin could not be read", unproven, []edit{unread("gas when hot", "cabin")}, nil, ""},
	{"K26", "made for it by its papers, and nobody answered", ok, []edit{taken("K26")}, nil, ""},
	{"K26", "no hose was written down, and nobody answered", unproven, []edit{taken("in-tank hose"), taken("K26")}, nil, ""},
	{"K27", "what L12 judges is not asked twice", ok, []edit{taken("K27")}, nil, ""},
	{"K28", "a lift pump asks for no reading", ok, []edit{pumpClass("lift"), taken("base")}, nil, "carburettor"},
	{"K28", "a pump of which nobody knows the class", unproven, []edit{pumpClass(""), taken("base")}, nil, "carburettor"},
	{"K28", "a pump without papers", unproven, []edit{taken("base"), {Entry: "pump", Set: map[string]any{"/why_none": "kept from the car"}, Unset: []string{"/part"}}}, []string{"L01", "L21", "L28", "X08"}, "carburettor"},
	{"K28", "the inlet's gauge is out of date", block, append(other("PG9", "0.01", "bar"), pumpClass("injection"), by("PG9", "base", "rail"),
		edit{Gauge: "PG9", Entry: "calibration", Set: map[string]any{"/due": "2026-02-01"}}), []string{"L06", "L22"}, "carburettor"},
	{"K28", "the pump was changed after the inlet was read", block, []edit{pumpClass("injection"), late("fitted", "fit", "tech-1", map[string]any{"position": "pump", "part": "pump-1"})},
		[]string{"L06", "L08", "L10", "L10b", "L11", "L14", "L15c", "L16", "L17", "L21", "L31", "L04c", "V-06", "X31"}, "carburettor"},
	{"K28", "an injected car by its plan, its system not written down", ok, []edit{{Entry: "vehicle", Unset: []string{"/fuel_system"}}, pumpClass("injection")}, nil, ""},
	{"K28", "nobody read a number at the inlet", block, []edit{pumpClass("injection"), unread("base", "rail")}, []string{"L06"}, "carburettor"},
	{"K33", "written down before the spill was measured", ok, []edit{spillOf("+140m", "flow"), incidentOf("+139m", "opening for flow")}, nil, ""},
	{"K33", "seen, and nobody read since", stop, []edit{sawCaution("K33", "+1606m", ""), incidentOf("+1607m", "")}, nil, ""},
	{"K33", "answered, none seen", ok, []edit{put("no spill", "caution", "+1606m", "", map[string]any{"caution": "K33", "state": "met", "proof": "nothing spilled, floor dry, photo 7"})}, nil, ""},
	{"K33", "seen and aired, then one measured and not aired", stop, []edit{sawCaution("K33", "+130m", "base"), spillOf("+1606m", ""), incidentOf("+1607m", "")}, nil, ""},
	{"K33", "measured and aired, then one seen and not aired", stop, []edit{spillOf("+130m", "base"), incidentOf("+131m", "spill"), sawCaution("K33", "+1606m", "")}, nil, ""},
	{"V-06", "a part of another place lets the test stand", ok, []edit{changed("reference line")}, nil, ""},
}
