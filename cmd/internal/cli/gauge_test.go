package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

func TestGaugeAddOptions(t *testing.T) {
	fills(t, newGaugeAddCommand,
		line[gaugeAddOptions]{args: "P2|--name|rail gauge|--measures|pressure", want: gaugeAddOptions{gauge: "P2", data: schema.GaugeData{Name: "rail gauge", Measures: schema.MeasuresPressure}}},
		line[gaugeAddOptions]{args: "G1|--name|gas meter|--measures|gas|--serial|88|--range|0 to 100 %LEL|--class|1 %|--accuracy|0.5 %LEL|--division|1 %LEL|--sensor|catalytic|--span-gas|methane|--factor|1.9 ratio",
			want: gaugeAddOptions{gauge: "G1", rng: "0 to 100 %LEL", accuracy: "0.5 %LEL", division: "1 %LEL", data: schema.GaugeData{
				Name: "gas meter", Measures: schema.MeasuresGas, Serial: "88", Class: quantityOf[quantity.Fraction]("1", "%"), Sensor: "catalytic", SpanGas: "methane", GasFactor: quantityOf[quantity.Fraction]("1.9", "ratio")}}},
		line[gaugeAddOptions]{args: "P2|--measures|love", fault: `"love" is not one of`},
	)
}

func TestRunGaugeAdd(t *testing.T) {
	dir := desktest.Shop(t)
	data := schema.GaugeData{Name: "rail gauge", Measures: schema.MeasuresPressure}
	says(t, dir, "lead-1", runGaugeAdd, gaugeAddOptions{gauge: "P2", data: data, rng: "0 to 6 bar", division: "0.1 bar"}, "gauge P2: rail gauge, pressure; it proves nothing before it has a calibration: feedproof gauge calibrate P2 --due DATE")
	answers(t, dir, "lead-1", runGaugeAdd, gaugeAddOptions{gauge: "P3", data: data}, "record", "id", "facts")
	g, err := desktest.At(t, dir, "tech-1").Gauge("P2")
	if err != nil || g.Snapshot.Span.String() != "6 bar" || g.Snapshot.Resolution.String() != "0.1 bar" {
		t.Errorf("%v: %+v, want a span of 6 bar in steps of 0.1 bar", err, g)
	}
	refuses(t, dir, "lead-1", runGaugeAdd, gaugeAddOptions{gauge: "P1", data: data}, desk.Failed, "gauge P1: is in the shop already")
	refuses(t, dir, "lead-1", runGaugeAdd, gaugeAddOptions{gauge: "P4"}, desk.Usage, "gauge P4: needs --name and --measures")
	refuses(t, dir, "lead-1", runGaugeAdd, gaugeAddOptions{gauge: "P4", data: data, rng: "some"}, desk.Usage, `--range: "some" is not a range`)
	refuses(t, dir, "lead-1", runGaugeAdd, gaugeAddOptions{gauge: "P4", data: data, accuracy: "0.1"}, desk.Usage, "--accuracy: ")
	refuses(t, dir, "lead-1", runGaugeAdd, gaugeAddOptions{gauge: "P4", data: data, division: "0.1"}, desk.Usage, "--division: ")
}

func TestGaugeCalibrateOptions(t *testing.T) {
	fills(t, newGaugeCalibrateCommand,
		line[gaugeCalibrateOptions]{args: "P1|--due|2027-03-01", want: gaugeCalibrateOptions{gauge: "P1", data: schema.CalibrationData{Due: "2027-03-01"}}},
		line[gaugeCalibrateOptions]{args: "P1|--date|2026-03-01|--due|2027-03-01|--lab|a lab|--certificate|1107|--accredited|yes|--as-found|good|--as-left|same", want: gaugeCalibrateOptions{gauge: "P1", data: schema.CalibrationData{
			Date: "2026-03-01", Due: "2027-03-01", Lab: "a lab", Certificate: "1107", Accredited: schema.Yes, AsFound: "good", AsLeft: "same"}}},
		line[gaugeCalibrateOptions]{args: "P1|--accredited|perhaps", fault: `"perhaps" is not one of`},
	)
}

func TestRunGaugeCalibrate(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "lead-1", runGaugeCalibrate, gaugeCalibrateOptions{gauge: "rail gauge", data: schema.CalibrationData{Due: "2027-03-01"}}, "gauge P1: calibrated 2026-03-02, due 2027-03-01")
	answers(t, dir, "lead-1", runGaugeCalibrate, gaugeCalibrateOptions{gauge: "P1", data: schema.CalibrationData{Due: "2027-04-01"}}, "record", "id", "facts")
	says(t, dir, "tech-1", runGaugeList, noOptions{}, "P1\trail gauge\tdue 2027-04-01\t")
	refuses(t, dir, "lead-1", runGaugeCalibrate, gaugeCalibrateOptions{gauge: "P1"}, desk.Usage, "--due: is missing")
	refuses(t, dir, "lead-1", runGaugeCalibrate, gaugeCalibrateOptions{gauge: "P1", data: schema.CalibrationData{Due: "soon"}}, desk.Usage, `--due: "soon" is not a date`)
	refuses(t, dir, "lead-1", runGaugeCalibrate, gaugeCalibrateOptions{gauge: "P1", data: schema.CalibrationData{Date: "today", Due: "2027-04-01"}}, desk.Usage, `--date: "today" is not a date`)
	refuses(t, dir, "lead-1", runGaugeCalibrate, gaugeCalibrateOptions{gauge: "P9"}, desk.Usage, "gauge P9: is not in this shop")
}

func TestGaugeCheckOptions(t *testing.T) {
	fills(t, newGaugeCheckCommand,
		line[gaugeCheckOptions]{args: "G1|bump", want: gaugeCheckOptions{gauge: "G1", check: "bump"}},
		line[gaugeCheckOptions]{args: "P1|comparison|--bad|--value|3.3 bar|--note|reads high|--at|08:30", want: gaugeCheckOptions{gauge: "P1", check: "comparison", bad: true, value: "3.3 bar", note: "reads high", at: "08:30"}},
		line[gaugeCheckOptions]{args: "P1", fault: "bump|zero|comparison: is missing"},
	)
}

func TestRunGaugeCheck(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "tech-1", runGaugeCheck, gaugeCheckOptions{gauge: "P1", check: "zero", value: "0.00 bar", at: "08:30"}, "gauge P1: zero good at 2026-03-02T08:30:00Z\n")
	says(t, dir, "tech-1", runGaugeCheck, gaugeCheckOptions{gauge: "P1", check: "comp", bad: true}, "gauge P1: comparison bad at 2026-03-02T09:00:00Z; what it read since its last good check proves nothing now. Which cars: feedproof ask gauges P1")
	answers(t, dir, "tech-1", runGaugeCheck, gaugeCheckOptions{gauge: "P1", check: "bump"}, "record", "id", "facts")
	says(t, dir, "tech-1", runGaugeList, noOptions{}, "P1\trail gauge\tdue 2027-01-10\t2026-03-02T09:00:00Z\t")
	refuses(t, dir, "tech-1", runGaugeCheck, gaugeCheckOptions{gauge: "P1", check: "smell"}, desk.Usage, `check "smell" is not one of`)
	refuses(t, dir, "tech-1", runGaugeCheck, gaugeCheckOptions{gauge: "P1", check: "zero", value: "0.1"}, desk.Usage, "--value: ")
	refuses(t, dir, "tech-1", runGaugeCheck, gaugeCheckOptions{gauge: "P1", check: "zero", at: "soon"}, desk.Usage, `"soon" is not a time`)
}

func TestGaugeListOptions(t *testing.T) {
	fills(t, newGaugeListCommand, line[noOptions]{args: "P1", fault: "P1: is one word too many"})
}

func TestRunGaugeList(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "tech-1", runGaugeList, noOptions{}, "P1\trail gauge\tdue 2027-01-10\t\tpressure, ")
	if all := listed(t, dir, "tech-1", runGaugeList, noOptions{}); len(all) != 1 {
		t.Errorf("%d gauges, want 1", len(all))
	}
}
