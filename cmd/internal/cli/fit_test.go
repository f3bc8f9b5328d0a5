package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/schema"
)

func TestFitOptions(t *testing.T) {
	fills(t, newFitCommand,
		line[fitOptions]{args: "kestrel|pump|PUMP-A", want: fitOptions{car: "kestrel", position: "pump", data: schema.FitData{Part: "PUMP-A"}}},
		line[fitOptions]{args: "kestrel|injectors|INJ|--count|4|--serial|a,b|--opens|--note|new seals|--at|09:14", want: fitOptions{car: "kestrel", position: "injectors", opens: true, at: "09:14",
			data: schema.FitData{Part: "INJ", Count: 4, Serials: []string{"a", "b"}, Note: "new seals"}}},
		line[fitOptions]{args: "kestrel|filter|--no-part|kept from the car", want: fitOptions{car: "kestrel", position: "filter", data: schema.FitData{WhyNone: "kept from the car"}}},
		line[fitOptions]{args: "kestrel", fault: "POSITION: is missing"},
		line[fitOptions]{args: "kestrel|pump|--count|four", fault: "four"},
	)
}

func TestRunFit(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "tech-1", runFit, fitOptions{car: "kestrel", position: "pump", data: schema.FitData{Part: "pump-a"}}, "kestrel #3 by tech-1: ", "PUMP-A")
	answers(t, dir, "tech-1", runFit, fitOptions{car: "kestrel", position: "filter", opens: true, data: schema.FitData{WhyNone: "kept from the car"}}, "vehicle", "entry", "band")
	refuses(t, dir, "tech-1", runFit, fitOptions{car: "kestrel", position: "pump"}, desk.Usage, "pump: which part went in")
	refuses(t, dir, "tech-1", runFit, fitOptions{car: "kestrel", position: "pump", data: schema.FitData{Part: "PUMP-Z"}}, desk.Usage, "part PUMP-Z: is not in this shop")
	refuses(t, dir, "tech-1", runFit, fitOptions{car: "kestrel", position: "pump", data: schema.FitData{Part: "PUMP-A"}, at: "soon"}, desk.Usage, `"soon" is not a time`)
}
