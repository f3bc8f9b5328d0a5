package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

func TestReadOptions(t *testing.T) {
	fills(t, newReadCommand,
		line[readOptions]{args: "kestrel|base|43.5|psi|--hose|off|--second|SR", want: readOptions{car: "kestrel", test: "base", words: []string{"43.5", "psi"},
			conditions: schema.Conditions{Hose: "off"}, data: schema.ReadingData{Second: "SR"}}},
		line[readOptions]{args: "kestrel|leak|--gauge|P1|--gauge|volts=M1|--zero|0.02 bar|--port|rail|--attempt|2|--at|09:14|--note|cold|--late|paper", want: readOptions{car: "kestrel", test: "leak", words: []string{},
			gauges: []string{"P1", "volts=M1"}, zeros: []string{"0.02 bar"}, ports: []string{"rail"}, at: "09:14", data: schema.ReadingData{Attempt: 2, Note: "cold", Late: "paper"}}},
		line[readOptions]{args: "kestrel|idle|--engine|idle|--rpm|800 rpm|--fuel|20 L|--barometer|101.3 kPa abs|--charger|no", want: readOptions{car: "kestrel", test: "idle", words: []string{},
			conditions: schema.Conditions{Engine: "idle", Speed: quantityOf[quantity.EngineSpeed]("800", "rpm"), FuelLevel: quantityOf[quantity.Volume]("20", "L"), Barometer: quantityOf[quantity.Absolute]("101.3", "kPa abs"), Charger: schema.No}}},
		line[readOptions]{args: "kestrel", fault: "TEST: is missing"},
		line[readOptions]{args: "kestrel|base|--rpm|800", fault: "number without a unit"},
	)
}

func TestRunRead(t *testing.T) {
	dir := desktest.Shop(t)
	o := readOptions{car: "kest", test: "base", words: []string{"3.00", "bar"}, conditions: schema.Conditions{Hose: "off"}, data: schema.ReadingData{Second: "RV"}}
	says(t, dir, "tech-1", runRead, o, "kestrel #3 by tech-1: base: rail 3.00 bar (43.5 psi) on P1, hose off", "second lead-1")
	answers(t, dir, "tech-1", runRead, o, "vehicle", "entry", "counter", "fact", "findings", "band", "next")
	refuses(t, dir, "tech-1", runRead, readOptions{car: "kestrel", test: "base", words: []string{"3.00"}}, desk.Usage, "without a unit")
	refuses(t, dir, "tech-1", runRead, readOptions{car: "kestrel", test: "bsae", words: []string{"3.00", "bar"}}, desk.Usage, "test bsae: is not a reading")
	refuses(t, dir, "tech-1", runRead, readOptions{car: "kestrel", test: "base", words: []string{"3", "bar"}, gauges: []string{"P9"}}, desk.Usage, "gauge P9: is not in this shop")
	car, err := desktest.At(t, dir, "tech-1").Car("kestrel")
	if err != nil || len(car.Draft) != 2 {
		t.Errorf("draft of %d, %v: want the two readings that were taken", len(car.Draft), err)
	}
}
