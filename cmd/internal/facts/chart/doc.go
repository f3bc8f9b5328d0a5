// Package chart draws lines over a shared horizontal axis, in panels one above
// the other, as SVG for a sheet and as text for a terminal.
//
// Fill in a [Chart] and ask it for [Chart.SVG] or [Chart.Text]. Both are pure:
// the same chart gives the same bytes. A point whose number is NaN breaks its
// line; a panel without a point says so. Numbers are plain and in the unit that
// stands beside them on their axis: who draws has converted them.
//
//	chart.Chart{
//		Title: "Delivery against demand",
//		About: "The pump delivers more than is asked for up to 420 kW.",
//		X:     chart.Axis{Label: "power", Unit: "kW"},
//		Panels: []chart.Panel{{
//			Y: chart.Axis{Label: "flow", Unit: "L/h"},
//			Lines: []chart.Line{
//				{Name: "delivery", Points: delivery},
//				{Name: "demand", Points: demand},
//			},
//			Bands: []chart.Band{{Name: "reserve", Low: demand, High: delivery}},
//		}},
//		Windows: []chart.Window{{Name: "limit 420 kW", From: 420, To: 420}},
//	}.SVG()
//
// Other uses: pressures along the fuel's path have [Axis.Ticks] with the names of the
// places; readings through the years have [Axis.Dates]; what is measured is a
// line of kind [Scattered] over the line that was predicted.
//
// A chart is read in print, without colour and aloud: every line and band has
// its name in words beside it and a dash or mark of its own, text is near
// black on white, and title and description are part of the file. There is no
// script, style sheet, font, link or id in it, so that any number of charts can
// stand in one page.
//
// It leaves out what no sheet needs: second axes, logarithms, bars, colours to
// choose. A plotting library was tried: gonum.org/v1/plot adds 9 MB of fonts and
// formats to the program and 2 ms to each of its starts, measures its text in a
// font that the reader's browser need not have, and knows no bands, windows or
// descriptions, so that most of this package would be needed beside it.
package chart
