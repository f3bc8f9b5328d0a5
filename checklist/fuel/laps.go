package fuel

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"feedproof/schema/quantity"
)

// namedLap is an invented lap: seconds, load, share of full boost, g forward, g
// to the left, grade.
type namedLap struct {
	meaning   string
	stretches [][6]float64
}

// namedLaps are made up, one for each way a tank is asked hard. They are no
// circuits: a log of the car is better than any of them.
var namedLaps = map[string]namedLap{
	"ring": {"a circuit of left and right corners with hard braking", [][6]float64{
		{8, 1, 1, .35, 0, 0}, {3, .05, 0, -.9, 0, 0}, {6, .45, .294, 0, .95, 0}, {7, 1, 1, .30, .2, 0}, {2.5, .05, 0, -.8, 0, 0},
		{5, .5, .294, .05, -.95, 0}, {9, 1, 1, .25, 0, 0}, {4, .6, .471, 0, 1.05, 0}, {6, 1, 1, .3, 0, 0}, {3.5, .1, 0, -.7, -.4, 0}}},
	"oval": {"long left corners under power", [][6]float64{
		{7, 1, 1, .25, .1, 0}, {9, .8, .727, 0, 1.10, 0}, {7, 1, 1, .2, .1, 0}, {9, .8, .727, 0, 1.10, 0}}},
	"hill": {"a steep climb with hairpins", [][6]float64{
		{5, 1, 1, .55, 0, .06}, {4, 1, 1, .25, .7, .08}, {3, .1, 0, -.6, 0, .08}, {6, .7, .7, .1, -.9, .12}, {8, 1, 1, .3, 0, .10},
		{5, .8, .8, .1, .95, .12}, {9, 1, 1, .2, 0, .10}, {3, .1, 0, -.5, .2, .06}, {7, 1, 1, .25, -.5, .08}}},
	"skid": {"half a minute round a circle to either side", [][6]float64{
		{30, .40, .3, 0, 1.05, 0}, {10, .10, 0, -.1, 0, 0}, {30, .40, .3, 0, -1.05, 0}, {10, .10, 0, 0, 0, 0}}},
	"pulls": {"two full-power pulls, then a rest", [][6]float64{
		{10, 1, 1, .45, 0, 0}, {4, .05, 0, -.5, 0, 0}, {10, 1, 1, .40, 0, 0}, {26, .15, 0, 0, 0, 0}}},
	"pass": {"a mountain road up, then a rest", [][6]float64{
		{20, .5, .75, .1, 0, .09}, {6, .3, .25, 0, .6, .07}, {15, .6, 1, .1, 0, .09}, {6, .2, .125, -.2, -.6, .05}, {18, .5, .75, .05, .2, .08}, {25, .03, 0, 0, 0, 0}}},
}

// NamedLap is one of the invented laps, with the car's full boost.
//
// Errors: a name that is not known; it lists those that are.
func NamedLap(name string, full quantity.Gauge) (Lap, error) {
	n, ok := namedLaps[name]
	if !ok {
		return nil, fmt.Errorf("lap %q: not known; known are %s", name, strings.Join(LapNames(), ", "))
	}
	var lap Lap
	for _, s := range n.stretches {
		lap = append(lap, Stretch{quantity.Duration(s[0]), quantity.Fraction(s[1]), max(0, full) * quantity.Gauge(s[2]), quantity.Acceleration(s[3] * quantity.G), quantity.Acceleration(s[4] * quantity.G), s[5]})
	}
	return lap, nil
}

// LapNames lists the invented laps.
func LapNames() []string { return slices.Sorted(maps.Keys(namedLaps)) }

// LapMeaning says what a named lap is; empty when there is none.
func LapMeaning(name string) string { return namedLaps[name].meaning }

// Overshoot is how far past the steady slope a quick corner is taken to swing
// the surface (common practice; undamped it is up to twice).
const Overshoot = 1.25

// Harder is the lap with every acceleration scaled: a corner that builds up
// faster than half a slosh period overshoots the quasi-static surface.
func (l Lap) Harder(by float64) Lap {
	out := slices.Clone(l)
	for i := range out {
		out[i].Forward *= quantity.Acceleration(by)
		out[i].Left *= quantity.Acceleration(by)
	}
	return out
}

// Burns is what a lap takes at a full-power demand.
func (l Lap) Burns(demand quantity.Flow) quantity.Volume {
	var sum quantity.Volume
	for _, s := range l {
		sum += quantity.Volume(float64(demand) * float64(s.Load) * float64(s.Time))
	}
	return sum
}
