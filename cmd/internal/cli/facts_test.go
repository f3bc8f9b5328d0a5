package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

func TestNoteOptions(t *testing.T) {
	fills(t, newNoteCommand,
		line[noteOptions]{args: "kestrel|pump|whines", want: noteOptions{car: "kestrel", words: []string{"pump", "whines"}}},
		line[noteOptions]{args: "kestrel|pump whines|--at|08:30", want: noteOptions{car: "kestrel", words: []string{"pump whines"}, at: "08:30"}},
		line[noteOptions]{args: "kestrel", fault: "TEXT: is missing"},
	)
}

func TestRunNote(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "tech-1", runNote, noteOptions{car: "kestrel", words: []string{"pump", "whines"}}, "kestrel #3 by tech-1: note: pump whines")
	answers(t, dir, "tech-1", runNote, noteOptions{car: "kestrel", words: []string{"still"}}, "vehicle", "entry", "fact")
	refuses(t, dir, "tech-1", runNote, noteOptions{car: "kestrel", words: []string{"x"}, at: "soon"}, desk.Usage, `"soon" is not a time`)
	refuses(t, dir, "tech-1", runNote, noteOptions{car: "osprey", words: []string{"x"}}, desk.Usage, "car osprey: is not in this shop")
}

func TestIncidentOptions(t *testing.T) {
	fills(t, newIncidentCommand,
		line[incidentOptions]{args: "kestrel|--what|spill|--severity|small", want: incidentOptions{car: "kestrel", data: schema.IncidentData{What: "spill", Severity: "small", Injury: schema.NotKnown}}},
		line[incidentOptions]{args: "kestrel|--what|spill|--severity|small|--injury|no|--action|bay aired|--at|08:30", want: incidentOptions{car: "kestrel", at: "08:30",
			data: schema.IncidentData{What: "spill", Severity: "small", Injury: schema.No, Action: "bay aired"}}},
		line[incidentOptions]{args: "kestrel|--injury|a bit", fault: `"a bit" is not one of`},
	)
}

func TestRunIncident(t *testing.T) {
	dir := desktest.Shop(t)
	spill := incidentOptions{car: "kestrel", data: schema.IncidentData{What: "0.8 L spilled", Severity: "small", Injury: schema.No}}
	says(t, dir, "tech-1", runIncident, spill, "kestrel #3 by tech-1: incident", "0.8 L spilled")
	answers(t, dir, "tech-1", runIncident, spill, "vehicle", "entry", "findings")
	refuses(t, dir, "tech-1", runIncident, incidentOptions{car: "kestrel", data: schema.IncidentData{What: "spill"}}, desk.Usage, "--what, --severity: say what happened and how bad it was")
	spill.at = "soon"
	refuses(t, dir, "tech-1", runIncident, spill, desk.Usage, `"soon" is not a time`)
}

func TestCorrectOptions(t *testing.T) {
	fills(t, newCorrectCommand,
		line[correctOptions]{args: "kestrel|last|--why|slip", want: correctOptions{car: "kestrel", entry: "last", why: "slip"}},
		line[correctOptions]{args: "kestrel|12|--why|slip|--instead|14", want: correctOptions{car: "kestrel", entry: "12", why: "slip", instead: "14"}},
		line[correctOptions]{args: "kestrel|12|--why|slip|--to|osprey", want: correctOptions{car: "kestrel", entry: "12", why: "slip", to: "osprey"}},
		line[correctOptions]{args: "kestrel|12|--why|slip|--to|osprey|--instead|14", fault: "--instead and --to: only one of them can be given"},
		line[correctOptions]{args: "kestrel", fault: "ENTRY: is missing"},
	)
}

func TestRunCorrect(t *testing.T) {
	dir := desktest.Shop(t)
	for _, text := range []string{"one", "two", "three"} {
		says(t, dir, "tech-1", runNote, noteOptions{car: "kestrel", words: []string{text}}, "note: "+text)
	}
	says(t, dir, "tech-1", runCorrect, correctOptions{car: "kestrel", entry: "last", why: "slip"}, "taken back: #5 note: three", "kestrel #6 by tech-1: ")
	says(t, dir, "tech-1", runCorrect, correctOptions{car: "kestrel", entry: "#3", instead: "4", why: "slip"}, "taken back: #3 note: one", "kestrel #7 by tech-1: ")
	answers(t, dir, "tech-1", runCorrect, correctOptions{car: "kestrel", entry: "last", why: "it was right"}, "vehicle", "entry", "fact")
	refuses(t, dir, "tech-1", runCorrect, correctOptions{car: "kestrel", entry: "4"}, desk.Usage, "--why: is missing")
	refuses(t, dir, "tech-1", runCorrect, correctOptions{car: "kestrel", entry: "40", why: "slip"}, desk.Usage, "entry 40: is not in the record of kestrel")
	refuses(t, dir, "tech-1", runCorrect, correctOptions{car: "kestrel", entry: "4", to: "kestrel", why: "slip"}, desk.Usage, "--to: kestrel is the car it stands in already")
	refuses(t, dir, "tech-1", runCorrect, correctOptions{car: "kestrel", entry: "2", to: "osprey", why: "slip"}, desk.Usage, "car osprey: is not in this shop")
	says(t, dir, "lead-1", runVehicleAdd, vehicleAddOptions{osprey()}, "car osprey")
	refuses(t, dir, "tech-1", runCorrect, correctOptions{car: "kestrel", entry: "2", to: "osprey", why: "slip"}, desk.Usage, "belongs to the record it was written in")
	says(t, dir, "tech-1", runCorrect, correctOptions{car: "kestrel", entry: "4", to: "osprey", why: "other car"}, "moved to osprey: #4 note: two", "osprey #2 by tech-1: note: two", "osprey #3 by tech-1: note: The note before this stood in the record of kestrel", "kestrel #9 by tech-1: ")
}

func TestRemoveOptions(t *testing.T) {
	fills(t, newRemoveCommand,
		line[removeOptions]{args: "kestrel|pump-2|--why|too small", want: removeOptions{car: "kestrel", position: "pump-2", why: "too small"}},
		line[removeOptions]{args: "kestrel|pump|--why|too small|--condition|brushes worn|--at|08:30", want: removeOptions{car: "kestrel", position: "pump", why: "too small", condition: "brushes worn", at: "08:30"}},
		line[removeOptions]{args: "kestrel", fault: "POSITION: is missing"},
	)
}

func TestRunRemove(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "tech-1", runFit, fitOptions{car: "kestrel", position: "pump 2", data: schema.FitData{Part: "PUMP-A"}}, "kestrel #3")
	says(t, dir, "tech-1", runRemove, removeOptions{car: "kestrel", position: "pump-2", why: "too small"}, "kestrel #4 by tech-1: ", "PUMP-A", "too small")
	answers(t, dir, "tech-1", runRemove, removeOptions{car: "kestrel", position: "filter", why: "clogged"}, "vehicle", "entry", "fact")
	refuses(t, dir, "tech-1", runRemove, removeOptions{car: "kestrel", position: "pump"}, desk.Usage, "--why: is missing")
	refuses(t, dir, "tech-1", runRemove, removeOptions{car: "kestrel", position: "pump", why: "so", at: "soon"}, desk.Usage, `"soon" is not a time`)
}

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
	answers(t, dir, "tech-1", runStep, stepOptions{car: "kestrel", steps: []string{"a5"}, data: schema.StepData{Joint: "hanger flange"}}, "vehicle", "entry", "fuel_open")
	refuses(t, dir, "tech-1", runStep, stepOptions{car: "kestrel", steps: []string{"a1", "z99"}}, desk.Usage, "step z99: ")
	refuses(t, dir, "tech-1", runStep, stepOptions{car: "kestrel", steps: []string{"a1"}, data: schema.StepData{Tool: "T9"}}, desk.Usage, "gauge T9: is not in this shop")
	refuses(t, dir, "tech-1", runStep, stepOptions{car: "kestrel", steps: []string{"a1"}, data: schema.StepData{Second: "tech-9"}}, desk.Usage, "person tech-9: is not in this shop")
}

func TestCautionOptions(t *testing.T) {
	fills(t, newCautionCommand,
		line[cautionOptions]{args: "kestrel|K02|--proof|plug reads 0.0 V", want: cautionOptions{car: "kestrel", caution: "K02", data: schema.CautionData{Proof: "plug reads 0.0 V"}}},
		line[cautionOptions]{args: "kestrel|K20|--seen|--where|rail inlet|--proof|one drip|--person|tech-2,lead-1|--inspected|2026-01-10|--at|08:30", want: cautionOptions{car: "kestrel", caution: "K20", seen: true, at: "08:30",
			data: schema.CautionData{Proof: "one drip", Where: "rail inlet", Persons: []string{"tech-2", "lead-1"}, Inspected: "2026-01-10"}}},
		line[cautionOptions]{args: "kestrel|K09|--proof|certificate|--cleaned-by|tank cleaner|--cleaned-how|steam|--tank-tag|T-17|--cleaned-at|04:30", want: cautionOptions{car: "kestrel", caution: "K09",
			data: schema.CautionData{Proof: "certificate"}, certificate: schema.Certificate{By: "tank cleaner", Method: "steam", Tank: "T-17", At: "04:30"}}},
		line[cautionOptions]{args: "kestrel|K20|--seen|--na|none", fault: "--na and --seen: only one of them can be given"},
		line[cautionOptions]{args: "kestrel", fault: "CAUTION: is missing"},
	)
}

func TestRunCaution(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "tech-1", runCaution, cautionOptions{car: "kestrel", caution: "k02", data: schema.CautionData{Proof: "plug reads 0.0 V"}}, "kestrel #3 by tech-1: ", "K02", "plug reads 0.0 V")
	says(t, dir, "tech-1", runCaution, cautionOptions{car: "kestrel", caution: "K20", seen: true, data: schema.CautionData{Proof: "one drip", Where: "rail inlet"}}, "kestrel #4", "STOP\tK20")
	says(t, dir, "tech-1", runCaution, cautionOptions{car: "kestrel", caution: "K04", data: schema.CautionData{Why: "no extinguisher near"}}, "kestrel #5", "no extinguisher near")
	answers(t, dir, "tech-1", runCaution, cautionOptions{car: "kestrel", caution: "K09", data: schema.CautionData{Proof: "certificate 58"}, certificate: schema.Certificate{By: "tank cleaner", At: "04:30"}}, "vehicle", "entry", "fact")
	c, err := desktest.At(t, dir, "tech-1").Car("kestrel")
	if err != nil {
		t.Fatal(err)
	}
	last, err := schema.Into[schema.CautionData](c.Draft[len(c.Draft)-1])
	if err != nil || last.Certificate == nil || last.Certificate.At != "2026-03-02T04:30:00Z" {
		t.Errorf("%v: %+v, want a certificate of this morning", err, last)
	}
	refuses(t, dir, "tech-1", runCaution, cautionOptions{car: "kestrel", caution: "K02"}, desk.Usage, "--proof: what shows it? K02 asks for: ")
	refuses(t, dir, "tech-1", runCaution, cautionOptions{car: "kestrel", caution: "K99", data: schema.CautionData{Proof: "x"}}, desk.Usage, "caution K99: ")
	refuses(t, dir, "tech-1", runCaution, cautionOptions{car: "kestrel", caution: "K04", data: schema.CautionData{Proof: "x", Inspected: "lately"}}, desk.Usage, `--inspected: "lately" is not a date`)
	refuses(t, dir, "tech-1", runCaution, cautionOptions{car: "kestrel", caution: "K09", data: schema.CautionData{Proof: "x"}, certificate: schema.Certificate{Tank: "T-17"}}, desk.Usage, "--cleaned-by: a certificate says who cleaned the tank")
}
