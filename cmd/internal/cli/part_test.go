package cli

import (
	"os"
	"path/filepath"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/schema"
	"feedproof/schema/quantity"
)

func TestPartReceiveOptions(t *testing.T) {
	one, unknown := schema.ReceiptData{Quantity: 1}, schema.InjectorData{Fluid: "unknown"}
	fills(t, newPartReceiveCommand,
		line[partReceiveOptions]{args: "HOSE|--part|hose|--name|feed hose|--size|-6|--bore|8.7 mm|--working|10 bar|--submersible|no|--date-code|2024|--standard|R14", want: partReceiveOptions{
			part: "HOSE", data: schema.PartData{Part: schema.PartHose, Name: "feed hose"}, receipt: one, injector: unknown,
			hose: schema.HoseData{Size: "-6", Bore: quantityOf[quantity.Length]("8.7", "mm"), WorkingPressure: quantityOf[quantity.Gauge]("10", "bar"), Submersible: schema.No, DateCode: "2024", Standard: "R14"}}},
		line[partReceiveOptions]{args: "PUMP-B|--part|pump|--name|in-tank pump|--point|3 bar 12V 200 L/h|--point|5 bar 12V 150 L/h|--curve|points.csv|--fluid|gasoline", want: partReceiveOptions{
			part: "PUMP-B", data: schema.PartData{Part: schema.PartPump, Name: "in-tank pump"}, receipt: one, injector: schema.InjectorData{Fluid: "gasoline"}, points: []string{"3 bar 12V 200 L/h", "5 bar 12V 150 L/h"}, curve: "points.csv"}},
		line[partReceiveOptions]{args: "INJ|--part|injector|--name|injector|--mark|I1|--lot|7|--serial|9|--ethanol|yes|--papers|sheet 3|--date|2026-02-01|--quantity|4|--supplier|a shop|--invoice|17|--state|new|--static|1000 cc/min|--rated-at|3 bar|--dead|14V 0.95ms", want: partReceiveOptions{
			part: "INJ", data: schema.PartData{Part: schema.PartInjector, Name: "injector", Mark: "I1", Lot: "7", Serial: "9", Ethanol: schema.Yes, Papers: "sheet 3"},
			receipt:  schema.ReceiptData{Date: "2026-02-01", Quantity: 4, Supplier: "a shop", Invoice: "17", State: "new"},
			injector: schema.InjectorData{Fluid: "unknown", Pressure: quantityOf[quantity.Difference]("3", "bar")}, static: "1000 cc/min", dead: []string{"14V 0.95ms"}}},
		line[partReceiveOptions]{args: "INJ|--quantity|four", fault: "four"},
	)
}

func TestRunPartReceive(t *testing.T) {
	dir, away := desktest.Shop(t), t.TempDir()
	run := typedIn(away, runPartReceive)
	receipt := schema.ReceiptData{Quantity: 4, Date: "2026-02-01"}
	hose := schema.PartData{Part: schema.PartHose, Name: "feed hose"}
	pump := partReceiveOptions{part: "PUMP-B", data: schema.PartData{Part: schema.PartPump, Name: "in-tank pump"}, receipt: receipt, injector: schema.InjectorData{Fluid: "unknown"}, points: []string{"3 bar 12V 200 L/h 8A", "5 bar 12V 150 L/h 10A"}}
	says(t, dir, "tech-1", run, partReceiveOptions{part: "HOSE", data: hose, receipt: schema.ReceiptData{Quantity: 1}}, "part HOSE: hose feed hose, 1 received 2026-03-02\n")
	says(t, dir, "tech-1", run, pump, "part PUMP-B: pump in-tank pump, 4 received 2026-02-01; curve of 2 points")
	pump.part, pump.curve, pump.points = "PUMP-C", "points.csv", nil
	if err := os.WriteFile(filepath.Join(away, "points.csv"), []byte("3 bar,12 V,200 L/h,8 A\n4 bar,12 V,180 L/h,9 A\n5 bar,12 V,150 L/h,10 A\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	says(t, dir, "tech-1", run, pump, "curve of 3 points")
	answers(t, dir, "tech-1", run, partReceiveOptions{part: "FILTER", data: schema.PartData{Part: schema.PartFilter, Name: "filter"}, receipt: receipt}, "record", "id", "facts")
	refuses(t, dir, "tech-1", run, partReceiveOptions{part: "X"}, desk.Usage, "part X: needs --part and --name")
	refuses(t, dir, "tech-1", run, partReceiveOptions{part: "X", data: hose, receipt: schema.ReceiptData{Quantity: 1, Date: "today"}}, desk.Usage, `--date: "today" is not a date`)
	refuses(t, dir, "tech-1", run, partReceiveOptions{part: "X", data: schema.PartData{Part: schema.PartPump, Name: "pump"}}, desk.Usage, "pump: has no curve")
	refuses(t, dir, "tech-1", run, partReceiveOptions{part: "X", data: schema.PartData{Part: schema.PartInjector, Name: "injector"}, static: "1000 cc/min"}, desk.Usage, "--rated-at: a static flow means nothing")
}

func TestPartQuarantineOptions(t *testing.T) {
	fills(t, newPartQuarantineCommand,
		line[partQuarantineOptions]{args: "PUMP-A|--why|two came back", want: partQuarantineOptions{part: "PUMP-A", why: "two came back"}},
		line[partQuarantineOptions]{args: "PUMP-A|--why|maker says good|--release", want: partQuarantineOptions{part: "PUMP-A", why: "maker says good", release: true}},
		line[partQuarantineOptions]{args: "PUMP-A|--told|kestrel|--why|phoned", want: partQuarantineOptions{part: "PUMP-A", told: "kestrel", why: "phoned"}},
		line[partQuarantineOptions]{args: "PUMP-A|PUMP-B", fault: "PUMP-B: is one word too many"},
	)
}

func TestRunPartQuarantine(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "lead-1", runPartQuarantine, partQuarantineOptions{part: "pump-a", why: "two came back"}, "part PUMP-A: quarantine hold: two came back")
	says(t, dir, "tech-1", runPartList, noOptions{}, "PUMP-A\tpump\t2\tin-tank pump\tQUARANTINE: two came back\n")
	answers(t, dir, "lead-1", runPartQuarantine, partQuarantineOptions{part: "PUMP-A", why: "maker says good", release: true}, "record", "id", "facts")
	says(t, dir, "tech-1", runPartList, noOptions{}, "PUMP-A\tpump\t2\tin-tank pump\n")
	refuses(t, dir, "lead-1", runPartQuarantine, partQuarantineOptions{part: "PUMP-A"}, desk.Usage, "--why: is missing")
	refuses(t, dir, "lead-1", runPartQuarantine, partQuarantineOptions{part: "PUMP-Z", why: "so"}, desk.Usage, "part PUMP-Z: is not in this shop")
}

func TestPartListOptions(t *testing.T) {
	fills(t, newPartListCommand, line[noOptions]{args: "PUMP-A", fault: "PUMP-A: is one word too many"})
}

func TestRunPartList(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "tech-1", runPartList, noOptions{}, "PUMP-A\tpump\t2\tin-tank pump\n")
	if all := listed(t, dir, "tech-1", runPartList, noOptions{}); len(all) != 1 {
		t.Errorf("%d parts, want 1", len(all))
	}
}
