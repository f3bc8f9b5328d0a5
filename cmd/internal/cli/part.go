package cli

import (
	"fmt"
	"strings"

	"feedproof/schema"

	"github.com/spf13/cobra"
)

func (a *app) partCommand() *cobra.Command {
	return group("part", "parts and lots: what their papers say, receipts, quarantine", a.partReceive(), a.partQuarantine(), a.partList())
}

type partOptions struct {
	schema.PartData
	receipt  schema.ReceiptData
	pump     schema.PumpData
	injector schema.InjectorData
	hose     schema.HoseData
	filter   schema.FilterData
	points   []string
	curve    string
	static   string
	dead     []string
}

func (a *app) partReceive() *cobra.Command {
	var o partOptions
	c := &cobra.Command{
		Use: "receive ID", Short: "record a part as its papers and its marking say", Args: takes("ID"),
		Example: `  feedproof part receive PUMP-A --part pump --name "in-tank pump 250" --ethanol yes \
     --point "3 bar 12V 200 L/h 8.0A" --point "5 bar 12V 150 L/h 10A" \
     --point "3 bar 13.5V 245 L/h 8.6A" --point "5 bar 13.5V 190 L/h 10.8A"
  feedproof part receive INJ-1000 --part injector --name "injector 1000" --quantity 4 \
     --static "1000 cc/min" --rated-at "3 bar" --fluid n-heptane --dead "14V 0.95ms"`,
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.receive(args[0], o)
		},
	}
	o.flags(c)
	return c
}

func (o *partOptions) flags(c *cobra.Command) {
	f := c.Flags()
	choice(f, &o.Part, "part", "what it does")
	f.StringVar(&o.Name, "name", "", "what it is called")
	f.StringVar(&o.Mark, "mark", "", "as printed on it")
	f.StringVar(&o.Lot, "lot", "", "lot")
	f.StringVar(&o.Serial, "serial", "", "serial number")
	choice(f, &o.Ethanol, "ethanol", "stated fit for ethanol")
	f.StringVar(&o.Papers, "papers", "", "the document that says so")

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
	f.StringVar(&o.hose.Standard, "standard", "", "hose: standard as printed")

	measure(f, &o.filter.Fineness, "fineness", "filter: fineness")
	f.StringVar(&o.filter.Media, "media", "", "filter: media")
	measure(f, &o.filter.Drop, "drop", "filter: pressure drop, clean")
	measure(f, &o.filter.AtFlow, "at-flow", "filter: at this flow")
}

func (s *session) receive(id string, o partOptions) error {
	if o.Part == "" || o.Name == "" {
		return wrong("feedproof part receive --help", "part %s: needs --part and --name", id)
	}
	if err := s.describePart(&o); err != nil {
		return err
	}
	var err error
	if o.receipt.Date, err = day(s.Now(), "date", o.receipt.Date); err != nil {
		return err
	}
	return s.put(schema.PartRecord, id, s.Now(), fmt.Sprintf("part %s: %s %s, %d received %s%s", id, o.Part, o.Name, o.receipt.Quantity, o.receipt.Date, howMuchData(o.PartData)), o.PartData, o.receipt)
}

// describePart adds the data that belongs to the kind of part.
func (s *session) describePart(o *partOptions) (err error) {
	switch o.Part {
	case schema.PartPump:
		o.PartData.Pump, err = s.pumpData(o)
	case schema.PartInjector:
		o.PartData.Injector, err = injectorData(o)
	case schema.PartHose:
		o.PartData.Hose = &o.hose
	case schema.PartFilter:
		o.PartData.Filter = &o.filter
	}
	return err
}

func howMuchData(d schema.PartData) string {
	if d.Pump != nil {
		return fmt.Sprintf("; curve of %d points", len(d.Pump.Curve))
	}
	return ""
}

func (a *app) partQuarantine() *cobra.Command {
	var d schema.QuarantineData
	var release bool
	c := &cobra.Command{
		Use: "quarantine ID", Short: "keep a lot off cars, or let it go again", Args: takes("ID"),
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			l, err := s.Part(args[0])
			if err != nil {
				return err
			}
			if d.Why == "" {
				return wrong("feedproof part quarantine "+l.ID+` --why ".."`, "--why: is missing")
			}
			d.Action = "hold"
			if release {
				d.Action = "release"
			}
			return s.put(schema.PartRecord, l.ID, s.Now(), fmt.Sprintf("part %s: quarantine %s: %s", l.ID, d.Action, d.Why), d)
		},
	}
	c.Flags().StringVar(&d.Why, "why", "", "why")
	c.Flags().BoolVar(&release, "release", false, "let it go again")
	return c
}

func (a *app) partList() *cobra.Command {
	return &cobra.Command{
		Use: "list", Short: "list parts and lots", Args: takes(),
		RunE: func(*cobra.Command, []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.listParts()
		},
	}
}

func (s *session) listParts() error {
	all, err := s.Parts()
	if err != nil || s.flags.json {
		return listJSON(s, all, err)
	}
	var rows [][]string
	for _, l := range all {
		state := l.Quarantine
		if state != "" {
			state = "QUARANTINE: " + state
		}
		rows = append(rows, []string{l.ID, string(l.Data.Part), fmt.Sprint(l.Received), strings.TrimSpace(l.Data.Name + " " + l.Data.Mark), state})
	}
	s.Table([]string{"ID", "PART", "CAME", "NAME", "STATE"}, rows)
	return nil
}
