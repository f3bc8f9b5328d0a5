package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

func TestVisitOpenOptions(t *testing.T) {
	fills(t, newVisitOpenCommand,
		line[visitOpenOptions]{args: "kestrel|--kind|a,b", want: visitOpenOptions{car: "kestrel", kinds: []string{"a", "b"}}},
		line[visitOpenOptions]{args: "kestrel|--recheck|--odometer|84210 km|--reason|spring|--bay|2|--words|runs well|--declared-power|300 kW|--declared-boost|1.2 bar|--declared-ethanol|85 %|--at|08:30", want: visitOpenOptions{
			car: "kestrel", recheck: true, at: "08:30", data: schema.VisitData{Odometer: quantityOf[quantity.Length]("84210", "km"), Reason: "spring", Bay: "2", Words: "runs well"},
			declared: schema.Declared{Power: quantityOf[quantity.Power]("300", "kW"), Boost: quantityOf[quantity.Gauge]("1.2", "bar"), Ethanol: quantityOf[quantity.Fraction]("85", "%")}}},
		line[visitOpenOptions]{args: "kestrel|--kind|a|--recheck", fault: "--kind and --recheck: only one of them can be given"},
	)
}

func TestRunVisitOpen(t *testing.T) {
	dir := desktest.Shop(t)
	refuses(t, dir, "lead-1", runVisitOpen, visitOpenOptions{car: "kestrel", kinds: []string{"a"}}, desk.Failed, "visit 1 of kestrel: is open already")
	says(t, dir, "lead-1", runVehicleAdd, vehicleAddOptions{osprey()}, "car osprey")
	refuses(t, dir, "lead-1", runVisitOpen, visitOpenOptions{car: "osprey"}, desk.Usage, "--kind: is missing")
	refuses(t, dir, "lead-1", runVisitOpen, visitOpenOptions{car: "osprey", kinds: []string{"z"}}, desk.Usage, `--kind: "z" is not one of`)
	says(t, dir, "lead-1", runVisitOpen, visitOpenOptions{car: "osprey", kinds: []string{"a", "B"}, declared: schema.Declared{Power: quantityOf[quantity.Power]("300", "kW")}}, "osprey #2 by lead-1: visit 1")
	c, err := desktest.At(t, dir, "lead-1").Car("osprey")
	if err != nil || len(c.Draft) != 1 {
		t.Fatalf("%v: %d entries", err, len(c.Draft))
	}
	if v, err := schema.Into[schema.VisitData](c.Draft[0]); err != nil || v.Bay != "2" || len(v.Kinds) != 2 || v.Declared == nil {
		t.Errorf("%v: %+v, want jobs a and b in the bay of this machine, with what is declared", err, v)
	}
	says(t, dir, "lead-1", runVisitClose, visitCloseOptions{car: "osprey", data: schema.VisitData{Reason: "towed away"}}, "osprey #3")
	answers(t, dir, "lead-1", runVisitOpen, visitOpenOptions{car: "osprey", recheck: true}, "vehicle", "entry", "fact")
}

func TestVisitCloseOptions(t *testing.T) {
	fills(t, newVisitCloseCommand,
		line[visitCloseOptions]{args: "kestrel", want: visitCloseOptions{car: "kestrel"}},
		line[visitCloseOptions]{args: "kestrel|--odometer|84230 km|--reason|towed away|--words|engine out|--at|18:00", want: visitCloseOptions{car: "kestrel", at: "18:00",
			data: schema.VisitData{Odometer: quantityOf[quantity.Length]("84230", "km"), Reason: "towed away", Words: "engine out"}}},
		line[visitCloseOptions]{args: "kestrel|--odometer|far", fault: "--odometer"},
	)
}

func TestRunVisitClose(t *testing.T) {
	dir := desktest.Shop(t)
	refuses(t, dir, "lead-1", runVisitClose, visitCloseOptions{car: "kestrel", data: schema.VisitData{Reason: " "}}, desk.Usage, "visit 1: is not signed off; say how the car leaves")
	answers(t, dir, "lead-1", runVisitClose, visitCloseOptions{car: "kestrel", data: schema.VisitData{Reason: "towed away"}}, "vehicle", "entry", "fact")
	refuses(t, dir, "lead-1", runVisitClose, visitCloseOptions{car: "kestrel"}, desk.Failed, "visit: none is open for kestrel")
}
