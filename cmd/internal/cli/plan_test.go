package cli

import (
	"slices"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
)

func TestPlanOptions(t *testing.T) {
	fills(t, newPlanCommand,
		line[planOptions]{args: "kestrel", want: planOptions{car: "kestrel"}},
		line[planOptions]{args: "kestrel|--boost|+=0.3 bar|--pump|PUMP-B|--at|08:30", want: planOptions{car: "kestrel", typed: []input{{"boost", "+=0.3 bar"}, {"pump", "PUMP-B"}}, at: "08:30"}},
		line[planOptions]{args: "kestrel|--what-if|boost+=0.3bar|--what-if|pump=PUMP-B", want: planOptions{car: "kestrel", whatIf: []string{"boost+=0.3bar", "pump=PUMP-B"}}},
		line[planOptions]{args: "kestrel|--lap|ring|--laps|3|--lap-fuel|40 L|--svg|charts|--map|a=b", want: planOptions{car: "kestrel", lap: lapOptions{lap: "ring", laps: 3, fuel: "40 L", svg: "charts", maps: []string{"a=b"}}}},
		line[planOptions]{args: "kestrel|--waves", want: planOptions{car: "kestrel", lap: lapOptions{waves: true}}},
		line[planOptions]{args: "kestrel|--power|300", fault: "without a unit"},
		line[planOptions]{args: "kestrel|--base|+3 bar", fault: "to add write base+="},
		line[planOptions]{args: "kestrel|--methanol|85 %", fault: "methanol are not planned"},
		line[planOptions]{args: "kestrel|finch", fault: "finch: is one word too many"},
	)
}

// typedPlan has all that a plan needs, for a carburettor without a return line.
var typedPlan = []input{
	{"power", "150 kW"}, {"basis", "crank"}, {"boost", "0 bar"}, {"rpm", "6500 rpm"}, {"ethanol", "0 to 10 %"}, {"altitude", "500 m"},
	{"bsfc", "0.32 kg/kWh on 10 %"}, {"carb-pressure", "0.35 bar"}, {"carb-seats", "2"}, {"carb-seat", "2.5 mm"}, {"carb-bowls", "150 mL"}, {"pump", "PUMP-A"}, {"feed-bore", "8 mm"}, {"feed-length", "4 m"}, {"return-bore", "na:dead end"},
}

func TestRunPlan(t *testing.T) {
	dir := desktest.Shop(t)
	run := typedIn(t.TempDir(), runPlan)
	refuses(t, dir, "lead-1", run, planOptions{car: "kestrel"}, desk.Failed, "has no plan yet")
	refuses(t, dir, "lead-1", run, planOptions{car: "kestrel", lap: lapOptions{lap: "ring"}}, desk.Failed, "has no plan yet")
	refuses(t, dir, "lead-1", run, planOptions{car: "kestrel", typed: typedPlan[1:]}, desk.Usage, "plan: needs --power")
	refuses(t, dir, "lead-1", run, planOptions{car: "kestrel", typed: append(typedPlan[:len(typedPlan):len(typedPlan)], input{"pump", "PUMP-Z"})}, desk.Usage, "PUMP-Z")
	refuses(t, dir, "lead-1", run, planOptions{car: "kestrel", typed: slices.DeleteFunc(slices.Clone(typedPlan), func(in input) bool { return in.name == "carb-seat" })}, desk.Usage, "plan: needs --carb-seat")
	refuses(t, dir, "lead-1", run, planOptions{car: "kestrel", typed: append(typedPlan[:len(typedPlan):len(typedPlan)], input{"return-bore", "8 mm"})}, desk.Usage, "plan: needs --return-length")
	says(t, dir, "lead-1", run, planOptions{car: "kestrel", typed: typedPlan}, "kestrel #3 by lead-1: plan")
	answers(t, dir, "lead-1", run, planOptions{car: "kestrel", typed: []input{{"power", "+=10 kW"}}}, "vehicle", "entry", "fact", "findings")
	refuses(t, dir, "lead-1", run, planOptions{car: "kestrel", typed: typedPlan[:1], lap: lapOptions{waves: true}}, desk.Usage, "--power is an input of the plan")
	refuses(t, dir, "lead-1", run, planOptions{car: "kestrel", whatIf: []string{"boost"}}, desk.Usage, "--what-if")
	car, err := desktest.At(t, dir, "lead-1").Car("kestrel")
	if err != nil || len(car.Draft) != 2 {
		t.Errorf("draft of %d, %v: want the two plans, and nothing of what was asked", len(car.Draft), err)
	}
}
