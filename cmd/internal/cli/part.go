package cli

import (
	"context"
	"fmt"
	"strings"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

func newPartCommand(below ...*cobra.Command) *cobra.Command {
	c := group("part", "parts and lots: what their papers say, receipts, quarantine", below...)
	c.Example = "  feedproof part receive PUMP-L --part pump --name \"in-tank pump\"\n  feedproof part list"
	return c
}

// partReceiveOptions are a part as its papers and its marking say.
type partReceiveOptions struct {
	part     string
	data     schema.PartData
	receipt  schema.ReceiptData
	pump     schema.PumpData
	injector schema.InjectorData
	hose     schema.HoseData
	filter   schema.FilterData
	points   []string
	curve    string
	static   string
	dead     []string
	ends     []string
	stud     schema.StudData
}

func newPartReceiveCommand(run func(context.Context, partReceiveOptions) error) *cobra.Command {
	var o partReceiveOptions
	c := &cobra.Command{
		Use: "receive ID", Short: "record a part as its papers and its marking say", Args: asUsed,
		Example: `  feedproof part receive PUMP-A --part pump --name "in-tank pump 250" --ethanol yes \
     --point "3 bar 12V 200 L/h 8.0A" --point "5 bar 12V 150 L/h 10A" \
     --point "3 bar 13.5V 245 L/h 8.6A" --point "5 bar 13.5V 190 L/h 10.8A"
  feedproof part receive INJ-1000 --part injector --name "injector 1000" --quantity 4 \
     --static "1000 cc/min" --rated-at "3 bar" --fluid n-heptane --dead "14V 0.95ms"`,
		RunE: func(c *cobra.Command, args []string) error {
			o.part = args[0]
			return run(c.Context(), o)
		},
	}
	partFlags(c, &o)
	return c
}

func partFlags(c *cobra.Command, o *partReceiveOptions) {
	f := c.Flags()
	choice(f, &o.data.Part, "part", "what it does")
	f.StringVar(&o.data.Name, "name", "", "what it is called")
	f.StringVar(&o.data.Mark, "mark", "", "as printed on it")
	f.StringVar(&o.data.Lot, "lot", "", "lot")
	f.StringVar(&o.data.Serial, "serial", "", "serial number")
	choice(f, &o.data.Ethanol, "ethanol", "stated fit for ethanol")
	f.StringVar(&o.data.Papers, "papers", "", "the document that says so")

	f.StringVar(&o.receipt.Date, "date", "", "date of receipt (default: today)")
	f.IntVar(&o.receipt.Quantity, "quantity", 1, "how many came")
	f.StringVar(&o.receipt.Supplier, "supplier", "", "who sent it")
	f.StringVar(&o.receipt.Invoice, "invoice", "", "invoice")
	f.StringVar(&o.receipt.State, "state", "", "new, used, customer's")

	f.StringArrayVar(&o.points, "point", nil, `pump: a point of its curve, "3 bar 13.5V 250 L/h 8.0A", as often as needed`)
	f.StringVar(&o.curve, "curve", "", "pump: CSV file of such points, pressure, voltage, flow, current")
	choice(f, &o.pump.Source, "curve-source", "pump: where the curve comes from")
	measure(f, &o.pump.Relief, "relief", "pump: internal relief valve")
	choice(f, &o.pump.CheckValve, "check-valve", "pump: has a check valve")
	choice(f, &o.pump.Class, "class", "pump: pressure class")

	f.StringVar(&o.static, "static", "", "injector: static flow, by volume or mass")
	measure(f, &o.injector.Pressure, "rated-at", "injector: pressure across it at that flow")
	f.StringVar(&o.injector.Fluid, "fluid", "unknown", "injector or pump: test fluid")
	measure(f, &o.injector.FluidDensity, "fluid-density", "injector: density of the test fluid")
	f.StringArrayVar(&o.dead, "dead", nil, `injector: dead time at a voltage, "14V 0.95ms", as often as needed`)
	measure(f, &o.injector.Spread, "spread", "injector: static spread of the set")
	measure(f, &o.injector.MaxPressure, "opens-to", "injector: highest pressure at which it opens reliably")

	f.StringVar(&o.hose.Size, "size", "", "hose: dash size")
	measure(f, &o.hose.Bore, "bore", "hose: bore")
	measure(f, &o.hose.WorkingPressure, "working", "hose: working pressure")
	choice(f, &o.hose.Submersible, "submersible", "hose: may lie in fuel")
	f.StringVar(&o.hose.DateCode, "date-code", "", "hose: date as printed")
	f.StringArrayVar(&o.ends, "end", nil, `an end by its name, "in=flare37-m:-8", with its bore "out=orb-m:-8@9.9mm", as often as needed`)
	f.StringVar(&o.data.Seal, "seal", "", "compound of its seals: FKM, FKM-70, FVMQ, HNBR, NBR ..")
	f.StringVar(&o.stud.Metal, "stud-metal", "", "electrical studs: copper, brass, steel, stainless")
	measure(f, &o.stud.Rating, "stud-rating", "electrical studs: current of one, as the maker says")
	f.StringVar(&o.hose.Kind, "hose-kind", "", "hose: its kind, J30R9, J30R10, J2260, PTFE-C ..")
	f.StringVar(&o.hose.Standard, "standard", "", "hose: standard as printed")

	measure(f, &o.filter.Fineness, "fineness", "filter: fineness")
	f.StringVar(&o.filter.Media, "media", "", "filter: media")
	measure(f, &o.filter.Drop, "drop", "filter: pressure drop, clean")
	measure(f, &o.filter.AtFlow, "at-flow", "filter: at this flow")
	choice(f, &o.filter.Stands, "stands", "filter: where it may stand")
}

func runPartReceive(ctx context.Context, d *desk.Desk, out *terminal.Screen, in folder, o partReceiveOptions) error {
	if o.data.Part == "" || o.data.Name == "" {
		return wrong("feedproof part receive --help", "part %s: needs --part and --name", o.part)
	}
	data, err := partOf(in, o)
	if err != nil {
		return err
	}
	receipt := o.receipt
	if receipt.Date, err = day(d.Now(), "date", receipt.Date); err != nil {
		return err
	}
	said := fmt.Sprintf("part %s: %s %s, %d received %s%s", o.part, data.Part, data.Name, receipt.Quantity, receipt.Date, howMuchData(data))
	return put(ctx, d, out, schema.PartRecord, o.part, d.Now(), said, data, receipt)
}

// partOf is the part with the data that belongs to its kind.
func partOf(in folder, o partReceiveOptions) (data schema.PartData, err error) {
	data = o.data
	if data.Ends, err = partEnds(o.ends); err != nil {
		return data, err
	}
	if data.Seal, err = compound(o.data.Seal); err != nil {
		return data, err
	}
	if o.stud != (schema.StudData{}) {
		data.Stud = &o.stud
	}
	switch data.Part {
	case schema.PartPump:
		data.Pump, err = pumpData(in, o)
	case schema.PartInjector:
		data.Injector, err = injectorData(o)
	case schema.PartHose:
		data.Hose, err = hoseData(o)
	case schema.PartFilter:
		data.Filter = &o.filter
	}
	return data, err
}

func howMuchData(d schema.PartData) string {
	if d.Pump != nil {
		return fmt.Sprintf("; curve of %d points", len(d.Pump.Curve))
	}
	return ""
}

// partQuarantineOptions are a lot that is kept off cars, or let go.
type partQuarantineOptions struct {
	part, why string
	release   bool
	told      string // the car whose owner was told
}

func newPartQuarantineCommand(run func(context.Context, partQuarantineOptions) error) *cobra.Command {
	var o partQuarantineOptions
	c := &cobra.Command{
		Use: "quarantine ID", Short: "keep a lot off cars, or let it go again", Args: asUsed,
		Long: "Keep a lot off cars, or let it go again. Every car that carries it is blocked,\nand is on the board until its owner was told.",
		Example: `  feedproof part quarantine PUMP-L --why "two of the lot came back"
  feedproof part quarantine PUMP-L --told kestrel --why "phoned, comes on Monday"`,
		RunE: func(c *cobra.Command, args []string) error {
			o.part = args[0]
			return run(c.Context(), o)
		},
	}
	c.Flags().StringVar(&o.why, "why", "", "why")
	c.Flags().BoolVar(&o.release, "release", false, "let it go again")
	c.Flags().StringVar(&o.told, "told", "", "car whose owner was told of it")
	either(c, "release", "told")
	return c
}

func runPartQuarantine(ctx context.Context, d *desk.Desk, out *terminal.Screen, o partQuarantineOptions) error {
	l, err := d.Part(o.part)
	if err != nil {
		return err
	}
	if o.why == "" {
		return wrong("feedproof part quarantine "+l.ID+` --why ".."`, "--why: is missing")
	}
	data := schema.QuarantineData{Action: schema.HoldLot, Why: o.why}
	switch {
	case o.release:
		data.Action = schema.ReleaseLot
	case o.told != "" && l.Quarantine == "":
		return wrong("feedproof part list", "part %s: is not on hold", l.ID)
	case o.told != "":
		c, err := d.Car(o.told)
		if err != nil {
			return err
		}
		data.Action, data.Car = schema.ToldOwner, c.ID
	}
	return put(ctx, d, out, schema.PartRecord, l.ID, d.Now(), fmt.Sprintf("part %s: quarantine %s: %s", l.ID, data.Action, data.Why), data)
}

func newPartListCommand(run func(context.Context, noOptions) error) *cobra.Command {
	return &cobra.Command{
		Use: "list", Short: "list parts and lots", Args: asUsed,
		Example: "  feedproof part list",
		RunE:    func(c *cobra.Command, _ []string) error { return run(c.Context(), noOptions{}) },
	}
}

func runPartList(_ context.Context, d *desk.Desk, out *terminal.Screen, _ noOptions) error {
	all, err := d.Parts()
	if err != nil {
		return err
	}
	if out.AsJSON() {
		return out.JSON(list(all))
	}
	var rows [][]string
	for _, l := range all {
		state := l.Quarantine
		if state != "" {
			state = "QUARANTINE: " + state
		}
		rows = append(rows, []string{l.ID, string(l.Data.Part), fmt.Sprint(l.Received), strings.TrimSpace(l.Data.Name + " " + l.Data.Mark), state})
	}
	out.Table([]string{"ID", "PART", "CAME", "NAME", "STATE"}, rows)
	return nil
}
