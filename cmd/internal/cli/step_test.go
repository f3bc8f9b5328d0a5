package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

func TestStepOptions(t *testing.T) {
	fills(t, newStepCommand,
		line[stepOptions]{args: "kestrel", want: stepOptions{car: "kestrel", steps: []string{}}},
		line[stepOptions]{args: "kestrel|b1|b2|--done", want: stepOptions{car: "kestrel", steps: []string{"b1", "b2"}, done: true}},
		line[stepOptions]{args: "kestrel|b12|--started|--joint|rail inlet|--torque|12 N m|--tool|T1|--second|tech-2|--note|by hand|--at|08:30", want: stepOptions{car: "kestrel", steps: []string{"b12"}, started: true, at: "08:30",
			data: schema.StepData{Joint: "rail inlet", Torque: quantityOf[quantity.Torque]("12", "N m"), Tool: "T1", Second: "tech-2", Note: "by hand"}}},
		line[stepOptions]{args: "kestrel|e11|--na|one pump", want: stepOptions{car: "kestrel", steps: []string{"e11"}, na: "one pump"}},
		line[stepOptions]{args: "kestrel|b1|--started|--done|--na|none", fault: "--done and --na and --started: only one of them can be given"},
	)
}

func TestRunStep(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "tech-1", runStep, stepOptions{car: "kestrel"}, "[ ]\tA1\t")
	says(t, dir, "tech-1", runStep, stepOptions{car: "kestrel", steps: []string{"a1", "A2"}}, "kestrel #3 by tech-1: ", "\n    a1: ", "kestrel #4 by tech-1: ", "\n    A2: ")
	says(t, dir, "tech-1", runStep, stepOptions{car: "kestrel", steps: []string{"a3"}, started: true, data: schema.StepData{Second: "RV"}}, "kestrel #5")
	says(t, dir, "tech-1", runStep, stepOptions{car: "kestrel", steps: []string{"a4"}, na: "not there"}, "kestrel #6", "not there")
	says(t, dir, "tech-1", runStep, stepOptions{car: "kestrel"}, "[ ]\tA1\t", "[x]\ta1\t", "[x]\tA2\t", "[/]\ta3\t", "[-]\ta4\t")
	if steps := listed(t, dir, "tech-1", runStep, stepOptions{car: "kestrel"}); len(steps) < 4 {
		t.Errorf("%d steps", len(steps))
	}
	if got := listed(t, dir, "tech-1", runStep, stepOptions{car: "kestrel", steps: []string{"a5"}, data: schema.StepData{Joint: "hanger flange"}}); len(got) != 1 {
		t.Errorf("%d facts of one step", len(got))
	}
	if got := listed(t, dir, "tech-1", runStep, stepOptions{car: "kestrel", steps: []string{"a1", "a2"}}); len(got) != 2 {
		t.Errorf("%d facts of two steps", len(got))
	}
	refuses(t, dir, "tech-1", runStep, stepOptions{car: "kestrel", steps: []string{"a1", "z99"}}, desk.Usage, "step z99: ")
	refuses(t, dir, "tech-1", runStep, stepOptions{car: "kestrel", steps: []string{"a1"}, data: schema.StepData{Tool: "T9"}}, desk.Usage, "gauge T9: is not in this shop")
	refuses(t, dir, "tech-1", runStep, stepOptions{car: "kestrel", steps: []string{"a1"}, data: schema.StepData{Second: "tech-9"}}, desk.Usage, "person tech-9: is not in this shop")
}
