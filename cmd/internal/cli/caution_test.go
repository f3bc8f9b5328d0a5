package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/schema"
)

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
