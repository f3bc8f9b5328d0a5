package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/schema"
)

func TestVehicleShowOptions(t *testing.T) {
	fills(t, newVehicleShowCommand,
		line[vehicleShowOptions]{args: "KT 42", want: vehicleShowOptions{car: "KT 42"}},
		line[vehicleShowOptions]{args: "kestrel|osprey", fault: "osprey: is one word too many"},
	)
}

func TestRunVehicleShow(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "tech-1", runFit, fitOptions{car: "kestrel", position: "pump", data: schema.FitData{Part: "PUMP-A"}}, "kestrel #3")
	says(t, dir, "tech-1", runVehicleShow, vehicleShowOptions{car: "kestrel"}, "kestrel (KT 42, ...004711), bay 2 · STOP, FUEL OPEN: gas before opening pump", "\nsilver hatchback\n", "pump\tPUMP-A", "Next: ")
	answers(t, dir, "tech-1", runVehicleShow, vehicleShowOptions{car: "kestrel"}, "id", "vehicle", "fitted", "stands")
	refuses(t, dir, "tech-1", runVehicleShow, vehicleShowOptions{car: "osprey"}, desk.Usage, "car osprey: is not in this shop")
}
