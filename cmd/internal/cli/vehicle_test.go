package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

// unsaid is a car of which nothing was said.
var unsaid = schema.VehicleData{RoadUse: schema.NotKnown, EmissionControlled: schema.NotKnown, TankEverFuelled: schema.NotKnown}

// osprey is another car.
func osprey() schema.VehicleData {
	car := unsaid
	car.Name, car.Description = "osprey", "blue van"
	return car
}

func TestVehicleAddOptions(t *testing.T) {
	plain, full := osprey(), osprey()
	full.Plate, full.VIN, full.ModelYear, full.Engine, full.Cylinders, full.Tank, full.Owner = "OS 1", "ZZ9", 2004, "2 L four", 4, "T-17", "17"
	full.Displacement, full.TankVolume = quantityOf[quantity.Volume]("2.0", "L"), quantityOf[quantity.Volume]("55", "L")
	full.Induction, full.FuelSystem, full.RoadUse, full.EmissionControlled, full.TankEverFuelled, full.HighVoltage = "turbo", "port injection", schema.Yes, schema.No, schema.Yes, schema.No
	fills(t, newVehicleAddCommand,
		line[vehicleAddOptions]{args: "osprey|--what|blue van", want: vehicleAddOptions{plain}},
		line[vehicleAddOptions]{args: "osprey|--what|blue van|--plate|OS 1|--vin|ZZ9|--year|2004|--engine|2 L four|--cylinders|4|--displacement|2.0 L|--induction|turbo|--fuel-system|port|--road|yes|--emission|no|--tank-fuelled|yes|--tank|55 L|--tank-tag|T-17|--high-voltage|no|--owner|17",
			want: vehicleAddOptions{full}},
		line[vehicleAddOptions]{args: "osprey|--road|often", fault: `"often" is not one of`},
	)
}

func TestRunVehicleAdd(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "lead-1", runVehicleAdd, vehicleAddOptions{osprey()}, "car osprey: blue van; next: feedproof visit open osprey --kind a")
	refuses(t, dir, "lead-1", runVehicleAdd, vehicleAddOptions{osprey()}, desk.Failed, "car osprey: is in the shop already")
	other := osprey()
	other.Plate = "OS 2"
	answers(t, dir, "lead-1", runVehicleAdd, vehicleAddOptions{other}, "record", "id", "facts")
	refuses(t, dir, "lead-1", runVehicleAdd, vehicleAddOptions{schema.VehicleData{Name: "wren"}}, desk.Usage, "--what: say what the car looks like")
}

func TestVehicleChangeOptions(t *testing.T) {
	fills(t, newVehicleChangeCommand,
		line[vehicleChangeOptions]{args: "kestrel", want: vehicleChangeOptions{car: "kestrel"}},
		line[vehicleChangeOptions]{args: "kestrel|--tank-tag|T-17|--plate||--tank|unknown|--displacement|na:rotary", want: vehicleChangeOptions{car: "kestrel", changes: []change{
			{"displacement", "not applicable:rotary"}, {"plate", ""}, {"tank", "unknown"}, {"tank-tag", "T-17"}}}},
		line[vehicleChangeOptions]{args: "kestrel|--cylinders|four", fault: "four"},
	)
}

func TestRunVehicleChange(t *testing.T) {
	dir := desktest.Shop(t)
	tag := vehicleChangeOptions{car: "kestrel", changes: []change{{"engine", "2 L four"}, {"tank-tag", "T-17"}}}
	says(t, dir, "lead-1", runVehicleChange, tag, `car kestrel: engine "2 L four", tank-tag T-17`)
	c, err := desktest.At(t, dir, "tech-1").Car("kestrel")
	if err != nil || c.Data.Tank != "T-17" || c.Data.Engine != "2 L four" || c.Data.Plate != "KT 42" {
		t.Errorf("%v: %+v, want the tag beside what was known", err, c.Data)
	}
	refuses(t, dir, "lead-1", runVehicleChange, tag, desk.Usage, "kestrel: nothing of that is different")
	refuses(t, dir, "lead-1", runVehicleChange, vehicleChangeOptions{car: "kestrel"}, desk.Usage, "kestrel: say what is different")
	answers(t, dir, "lead-1", runVehicleChange, vehicleChangeOptions{car: "kestrel", changes: []change{{"tank", "unknown"}}}, "record", "id", "facts")
}

func TestVehicleListOptions(t *testing.T) {
	fills(t, newVehicleListCommand, line[noOptions]{args: "kestrel", fault: "kestrel: is one word too many"})
}

func TestRunVehicleList(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "tech-1", runVehicleList, noOptions{}, "kestrel\tKT 42\t...004711\t2\t0\tsilver hatchback\n")
	says(t, dir, "tech-1", runNote, noteOptions{car: "kestrel", words: []string{"pump", "whines"}}, "kestrel #3")
	says(t, dir, "tech-1", runVehicleList, noOptions{}, "kestrel\tKT 42\t...004711\t2\t1\tsilver hatchback\n")
	if all := listed(t, dir, "tech-1", runVehicleList, noOptions{}); len(all) != 1 {
		t.Errorf("%d cars, want 1", len(all))
	}
}
