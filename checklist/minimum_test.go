package checklist_test

import (
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"feedproof/checklist"
	"feedproof/checklist/rules"
)

// without takes entries out of the clean record.
func without(names ...string) []edit {
	var out []edit
	for _, name := range names {
		out = append(out, edit{Entry: name, Remove: true})
	}
	return out
}

// unset takes fields out of an entry.
func unset(entry string, fields ...string) []edit { return []edit{{Entry: entry, Unset: fields}} }

// logWithout is the clean record with a loaded log that lacks some values.
func logWithout(names ...string) []edit {
	var values []any
	for _, v := range [][3]string{{"pressure across injector", "2.97", "bar"}, {"shortfall", "0.03", "bar"}, {"fall", "0.02", "bar"}, {"duty", "70.0", "%"}, {"lean", "0.010", "lambda"}} {
		if !slices.Contains(names, v[0]) {
			values = append(values, loggedValue(v[0], v[1], v[2]))
		}
	}
	return []edit{{Entry: "log", Set: map[string]any{"/worst": values}}}
}

// TestMinimumRecord deletes one thing at a time of what a release needs to mean
// anything: each time the sign-off must be refused, for that reason. The list
// is the trade's; source: common practice.
func TestMinimumRecord(t *testing.T) {
	for _, c := range []struct {
		item  string
		edits []edit
		want  string // part of a reason; "schema": it may not be recorded at all
	}{
		{"nothing", nil, ""},
		{"vehicle: name", unset("vehicle", "/name"), "schema"},
		{"vehicle: photo", without("photo"), "X31 UNPROVEN: photo of the car"},
		{"visit", without("visit"), "no visit is open"},
		{"plan and envelope", without("plan"), "L01 UNPROVEN"},
		{"envelope: power", unset("plan", "/envelope/power"), "schema"},
		{"plan: pump, so no margin", unset("plan", "/pumps"), "schema"},
		{"component: part or reason", unset("regulator", "/part"), "X31 UNPROVEN: what the regulator is"},
		{"gas reading before the first opening", without("gas"), "K01"},
		{"gas reading before the second opening", without("gas again"), "K01"},
		{"gas reading: at the floor", unset("gas", "/values"), "schema"},
		{"pressure zero before an opening", without("zero"), "K05"},
		{"base pressure", without("base"), "L06 UNPROVEN"},
		{"slope, and hose off and on", without("slope", "idle"), "L26 UNPROVEN"},
		{"hose off and on", without("idle"), "L26 UNPROVEN"},
		{"leak-down", without("leak-down"), "L07 UNPROVEN"},
		{"leak test after the last joint", without("leak", "leak by another"), "HP5: not proven"},
		{"last leak test", without("last leak"), "HP9"},
		{"leak test: its pressure", []edit{{Entry: "last leak", Set: map[string]any{"/values/pressure": map[string]any{"name": "pressure", "state": "not measured", "why": "gauge off"}}}}, "V-06 UNPROVEN"},
		{"leak test: second person at HP5", append(unset("HP5", "/second"), edit{Entry: "HP5 confirmed", Remove: true}), "HP5: not proven"},
		{"leak test: second person at HP9", append(unset("HP9", "/second"), edit{Entry: "HP9 confirmed", Remove: true}), "HP9: not proven"},
		{"volts and amps under load", without("supply"), "L10 UNPROVEN"},
		{"log", without("log"), "X31 UNPROVEN: log of the loaded pull"},
		{"log: pressure across the injectors", logWithout("fall"), "L04b UNPROVEN"},
		{"log: duty", logWithout("duty"), "L03 FLAG"},
		{"lambda, of log and by hand", append(logWithout("lean"), edit{Entry: "lambda", Remove: true}), "L14 UNPROVEN"},
		{"reserve", without("flow"), "L04c HOLD"},
		{"ethanol of the day", append(without("ethanol"), edit{Entry: "ethanol as found", At: "+8m"}), "X31 UNPROVEN: ethanol on the day"},
		{"HP0", without("HP0"), "HP0: open"}, {"HP1", without("HP1"), "HP1: open"}, {"HP2", without("HP2"), "HP2: not proven"},
		{"HP4", without("HP4"), "HP4: open"}, {"HP5", without("HP5"), "HP5: "}, {"HP6", without("HP6"), "HP6: open"},
		{"HP7", without("HP7"), "HP7: open"}, {"HP8", without("HP8"), "HP8: open"}, {"HP9", without("HP9"), "HP9: open"},
	} {
		t.Run(c.item, func(t *testing.T) {
			t.Parallel()
			s := loadBase(t, "clean")
			s.apply(t, c.edits...)
			b := s.build(t)
			if err := b.validate(s); c.want == "schema" || err != nil {
				if c.want != "schema" || err == nil {
					t.Fatalf("the schema says %v", err)
				}
				return
			}
			why := told(checklist.CanSignOff(checklist.Assess(b.record, b.shop, b.moment), "lead-1"))
			if !strings.Contains(why, c.want) || (c.want == "") != (why == "") {
				t.Errorf("want %q, got:%s", c.want, why)
			}
		})
	}
}

// TestEveryCautionIsAnswered deletes each answer to a caution of the clean
// record, and the reading that stands in for it: it must be asked for.
func TestEveryCautionIsAnswered(t *testing.T) {
	var asked atomic.Int64
	answered := 0
	for _, e := range loadBase(t, "clean").entries {
		if e.Kind != "caution" {
			continue
		}
		answered++ // of which most must be asked for
		t.Run(e.Name, func(t *testing.T) {
			t.Parallel()
			edits := without(e.Name)
			caution, _ := assess(t, "clean").Car.Book.Caution(e.Name)
			if _, ruled := rules.Find(caution.Needs.Rule); ruled || !assess(t, "clean").Car.Applies(caution.When) {
				return // what shows it is a reading that a rule judges, or nothing has to
			}
			for _, r := range loadBase(t, "clean").entries {
				if r.Kind == "reading" && r.Data["test"] == caution.Needs.Test {
					edits = append(edits, without(r.Name)...)
				}
			}
			asked.Add(1)
			why := told(checklist.CanSignOff(assess(t, "clean", edits...), "lead-1"))
			if !strings.Contains(why, e.Name+" ") {
				t.Errorf("without it the sign-off is not refused for it:%s", why)
			}
		})
	}
	t.Cleanup(func() {
		if n := asked.Load(); n < 10 || answered < 20 {
			t.Errorf("the clean record answers %d cautions, %d of them asked for: too few", answered, n)
		}
	})
}
