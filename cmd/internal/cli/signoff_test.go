package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

func TestSignoffOptions(t *testing.T) {
	usual := "I looked at every finding and hold point of this record and release the car under this envelope."
	fills(t, newSignoffCommand,
		line[signoffOptions]{args: "kestrel", want: signoffOptions{car: "kestrel", release: desk.Release{Meaning: usual}}},
		line[signoffOptions]{args: "kestrel|--power|300 kW|--manifold|200 kPa abs|--rpm|7000 rpm|--recheck|2026-04-01|--meaning|looked at all", want: signoffOptions{car: "kestrel", release: desk.Release{
			Envelope: schema.Envelope{Power: quantityOf[quantity.Power]("300", "kW"), Manifold: quantityOf[quantity.Absolute]("200", "kPa abs"), Speed: quantityOf[quantity.EngineSpeed]("7000", "rpm")},
			Recheck:  "2026-04-01", Meaning: "looked at all"}}},
		line[signoffOptions]{args: "kestrel|--power|300", fault: "number without a unit"},
	)
}

// That a car is signed off is a script's: it takes a whole job. See
// testdata/script.
func TestRunSignoff(t *testing.T) {
	dir := desktest.Shop(t)
	refuses(t, dir, "lead-1", runSignoff, signoffOptions{car: "kestrel"}, desk.Refused, "in the way; nothing was changed")
	refuses(t, dir, "tech-1", runSignoff, signoffOptions{car: "kestrel"}, desk.Refused, "in the way; nothing was changed")
	refuses(t, dir, "lead-1", runSignoff, signoffOptions{car: "osprey"}, desk.Usage, "car osprey: is not in this shop")
}
