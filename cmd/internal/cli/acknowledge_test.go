package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
)

func TestAcknowledgeOptions(t *testing.T) {
	fills(t, newAcknowledgeCommand,
		line[acknowledgeOptions]{args: "kestrel|L01|--why|track days only", want: acknowledgeOptions{car: "kestrel", finding: "L01", why: "track days only"}},
		line[acknowledgeOptions]{args: "kestrel|L01", want: acknowledgeOptions{car: "kestrel", finding: "L01"}},
		line[acknowledgeOptions]{args: "kestrel", fault: "FINDING: is missing"},
	)
}

func TestRunAcknowledge(t *testing.T) {
	dir := desktest.Shop(t)
	refuses(t, dir, "tech-1", runAcknowledge, acknowledgeOptions{car: "kestrel", finding: "L01"}, desk.Usage, "--why: is missing")
	refuses(t, dir, "tech-1", runAcknowledge, acknowledgeOptions{car: "osprey", finding: "L01", why: "x"}, desk.Usage, "car osprey: is not in this shop")
	refuses(t, dir, "tech-1", runAcknowledge, acknowledgeOptions{car: "kestrel", finding: "L01", why: "x"}, desk.Usage, "L01")
}
