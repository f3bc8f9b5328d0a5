package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/schema"
)

func TestWaiveOptions(t *testing.T) {
	fills(t, newWaiveCommand,
		line[waiveOptions]{args: "kestrel|V-06|--why|because|--measure|watched|--expires|2026-04-01|--informed|yes", want: waiveOptions{car: "kestrel", finding: "V-06",
			answer: schema.WaiveData{Why: "because", Measure: "watched", Expires: "2026-04-01", Informed: schema.Yes}}},
		line[waiveOptions]{args: "kestrel", fault: "FINDING: is missing"},
		line[waiveOptions]{args: "kestrel|V-06|--informed|perhaps", fault: "--informed"},
	)
}

func TestRunWaive(t *testing.T) {
	dir := desktest.Shop(t)
	refuses(t, dir, "tech-1", runWaive, waiveOptions{car: "kestrel", finding: "K01"}, desk.Refused, "waive")
	refuses(t, dir, "lead-1", runWaive, waiveOptions{car: "kestrel", finding: "K99"}, desk.Usage, "K99")
	refuses(t, dir, "lead-1", runWaive, waiveOptions{car: "osprey", finding: "K01"}, desk.Usage, "car osprey: is not in this shop")
}
