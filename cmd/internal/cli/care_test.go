package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
)

func TestVehicleCloseOptions(t *testing.T) {
	fills(t, newVehicleCloseCommand,
		line[vehicleCloseOptions]{args: "kestrel|--why|sold on", want: vehicleCloseOptions{car: "kestrel", why: "sold on"}},
		line[vehicleCloseOptions]{args: "kestrel|--why|scrapped|--keep-until|2030-01-01", want: vehicleCloseOptions{car: "kestrel", why: "scrapped", until: "2030-01-01"}},
		line[vehicleCloseOptions]{args: "--why|sold on", fault: "CAR: is missing"},
	)
}

func TestRunVehicleClose(t *testing.T) {
	dir := desktest.Shop(t)
	refuses(t, dir, "lead-1", runVehicleClose, vehicleCloseOptions{car: "kestrel", why: "sold on"}, desk.Failed, "kestrel: is in the shop")
	refuses(t, dir, "lead-1", runVehicleClose, vehicleCloseOptions{car: "kestrel"}, desk.Usage, "--why: is missing")
	says(t, dir, "lead-1", runVehicleAdd, vehicleAddOptions{osprey()}, "car osprey")
	refuses(t, dir, "lead-1", runVehicleClose, vehicleCloseOptions{car: "osprey", why: "sold on", until: "never"}, desk.Usage, `--keep-until: "never" is not a date`)
	says(t, dir, "lead-1", runVehicleClose, vehicleCloseOptions{car: "osprey", why: "sold on"}, "osprey: care ended, sold on; the record is kept until 2036-03-02")
	answers(t, dir, "lead-1", runVehicleClose, vehicleCloseOptions{car: "osprey", why: "sold on", until: "2040-01-01"}, "record", "id", "facts")
}
