package facts

import (
	"fmt"
	"math"
	"strings"

	"feedproof/checklist"
	"feedproof/checklist/fuel"
	"feedproof/schema/quantity"
)

// Outlook is the second half of the plan page: ranges, what gives out first,
// what a change would buy, and a chart of delivery beside demand.
type Outlook struct {
	Method    string     `json:"method"`           // how the ranges were computed
	Unsure    string     `json:"unsure,omitempty"` // why there are none
	Ranges    []RangeRow `json:"ranges"`
	Shares    []string   `json:"shares"` // what the margin's range comes from, largest first
	Supported string     `json:"supported_power"`
	Limiting  string     `json:"limiting"`
	Ends      string     `json:"ends,omitempty"` // why nothing is known beyond the supported power
	Items     []ItemRow  `json:"items"`
	Levers    []LeverRow `json:"levers"`
	Chart     []string   `json:"chart"`
}

// RangeRow is a result with the interval that holds it 95 times in 100.
type RangeRow struct {
	Name string `json:"name"`
	Best string `json:"best"`
	Low  string `json:"low"`
	High string `json:"high"`
}

// ItemRow is what one item allows. Power is where it gives out, as a text;
// empty where it does not depend on power.
type ItemRow struct {
	Item  string `json:"item"`
	Value string `json:"value"`
	Limit string `json:"limit"`
	OK    bool   `json:"ok"`
	Power string `json:"power,omitempty"`
	Ends  string `json:"ends,omitempty"` // why nothing is known beyond that power, where nothing gives out there
}

// LeverRow is what changing one part would buy.
type LeverRow struct {
	Change string `json:"change"`
	Result string `json:"result"`
}

// NewOutlook lays an outlook out.
func NewOutlook(o checklist.Outlook) Outlook {
	out := Outlook{Method: string(o.Ranges.Method), Limiting: o.Support.Limiting, Supported: kilowatts(o.Support.Power), Ends: o.Support.Ends}
	if o.Unsure != nil {
		out.Unsure = o.Unsure.Error()
	} else {
		out.Ranges = ranges(o.Ranges)
	}
	for i, s := range o.Ranges.Shares {
		if i < 3 && s.Of >= 0.01 {
			out.Shares = append(out.Shares, s.Input+" "+quantity.Format(s.Of, "%", 0))
		}
	}
	for _, l := range o.Support.Items {
		out.Items = append(out.Items, item(l))
	}
	for _, l := range o.Levers {
		out.Levers = append(out.Levers, LeverRow{Change: l.Change, Result: bought(l)})
	}
	out.Chart = marginRows(o.Series)
	return out
}

func ranges(r fuel.Ranges) []RangeRow {
	rows := []RangeRow{
		rangeRow("fuel demand", r.Demand, "L/h", 0),
		rangeRow("pump outlet pressure", r.Outlet, "bar", 2),
		rangeRow("delivery, aged", r.Delivery, "L/h", 0),
		rangeRow("flow margin", r.Margin, "ratio", 2),
	}
	if r.Effective.Best > 0 {
		rows = append(rows, rangeRow("effective duty", r.Effective, "%", 1), rangeRow("commanded duty", r.Commanded, "%", 1))
	}
	for i, row := range rows {
		rows[i].Best, rows[i].Low, rows[i].High = bare(row.Best), bare(row.Low), bare(row.High)
	}
	return rows
}

func rangeRow[Q quantity.Quantity](name string, r fuel.Range[Q], unit string, decimals int) RangeRow {
	return RangeRow{name, quantity.Format(r.Best, unit, decimals), quantity.Format(r.Low, unit, decimals), quantity.Format(r.High, unit, decimals)}
}

// bare takes the word off a plain ratio: a margin reads 1.21.
func bare(s string) string { return strings.TrimSuffix(s, " ratio") }

func item(l fuel.Limit) ItemRow {
	row := ItemRow{Item: l.Item, Value: l.Value, Limit: l.Limit, OK: l.OK}
	if !l.Always {
		row.Power, row.Ends = kilowatts(l.Power), l.Ends
		if l.Ends != "" {
			row.Power = "not known beyond " + row.Power
		}
	}
	return row
}

func bought(l fuel.Lever) string {
	if !l.Possible {
		return "cannot be planned: " + l.Why
	}
	if math.Abs(float64(l.Gain)) < 0.5*quantity.KW {
		return "nothing: " + l.Support.Limiting + " limits"
	}
	sign := "+"
	if l.Gain < 0 {
		sign = "-"
	}
	gain := quantity.Power(math.Abs(float64(l.Gain)))
	return fmt.Sprintf("%s%s, then %s limits at %s", sign, quantity.Format(gain, "kW", 0), l.Support.Limiting, kilowatts(l.Support.Power))
}

func kilowatts(p quantity.Power) string { return both(p, "kW", 0, "hp", 0) }

// Rows of the chart: it is as wide as its points, and fits 80 columns.
const (
	chartRows   = 12
	chartColumn = 3
)

// marginRows draw demand (o) and delivery (=) over power as lines of text. Where
// both fall on one mark it is #.
func marginRows(points []checklist.PowerPoint) []string {
	if len(points) < 2 {
		return nil
	}
	var top quantity.Flow
	for _, p := range points {
		top = max(top, p.Demand, p.Delivery)
	}
	grid := make([][]byte, chartRows)
	for i := range grid {
		grid[i] = []byte(strings.Repeat(" ", len(points)*chartColumn))
	}
	for i, p := range points {
		mark(grid, i, p.Delivery, top, '=')
		mark(grid, i, p.Demand, top, 'o')
	}
	var out []string
	for i, row := range grid {
		label := ""
		if i%3 == 0 {
			label = quantity.Format(top*quantity.Flow(chartRows-i)/chartRows, "L/h", 0)
		}
		out = append(out, strings.TrimRight(fmt.Sprintf("%9s |%s", label, row), " "))
	}
	out = append(out, fmt.Sprintf("%9s +%s", "", strings.Repeat("-", len(points)*chartColumn)))
	first, last := quantity.Format(points[0].Power, "kW", 0), quantity.Format(points[len(points)-1].Power, "kW", 0)
	gap := max(1, len(points)*chartColumn-len(first)-len(last))
	return append(out, fmt.Sprintf("%10s %s%s%s", "", first, strings.Repeat(" ", gap), last), fmt.Sprintf("%10s o demand   = delivery, aged   # both", ""))
}

func mark(grid [][]byte, column int, q, top quantity.Flow, sign byte) {
	row := chartRows - int(math.Round(float64(q/top)*chartRows))
	row = min(max(row, 0), chartRows-1)
	at := column*chartColumn + 1
	if grid[row][at] != ' ' {
		sign = '#'
	}
	grid[row][at] = sign
}
