package datalog

import (
	"cmp"
	"math"
	"slices"

	"feedproof/schema/quantity"
)

// Repeat is how far one pull is from another at the same engine speed and
// manifold pressure. Pulls that repeat are within 0.05 bar, 2 points of duty and
// 0.01 of lambda of each other (common practice).
type Repeat struct {
	Drop   Apart[quantity.Difference]
	Duty   Apart[quantity.Fraction]
	Lambda Apart[quantity.Lambda]
	Points int // at which the two could be compared
}

// Apart is the largest difference of a value, this pull less the other.
type Apart[Q quantity.Quantity] struct {
	By    Q
	Speed quantity.EngineSpeed // where
	Known bool
}

// Pulls are at the same place when their manifold pressures are this near.
const sameManifold = 10e3 // Pa

// Repeats compares the points of a pull with those of another.
func Repeats(this, other []Point) Repeat {
	reference := slices.Clone(other)
	reference = slices.DeleteFunc(reference, func(p Point) bool { return !known(p.Speed) || !known(p.Manifold) })
	slices.SortStableFunc(reference, func(a, b Point) int { return cmp.Compare(a.Speed, b.Speed) })
	var out Repeat
	for _, p := range this {
		q, ok := at(reference, p.Speed)
		if !ok || !known(p.Manifold) || math.Abs(float64(p.Manifold-q.Manifold)) > sameManifold {
			continue
		}
		out.Points++
		out.Drop.take(p.Drop-q.Drop, p.Speed)
		out.Duty.take(p.Duty-q.Duty, p.Speed)
		out.Lambda.take(p.Lambda-q.Lambda, p.Speed)
	}
	return out
}

func (a *Apart[Q]) take(by Q, speed quantity.EngineSpeed) {
	if known(by) && (!a.Known || math.Abs(float64(by)) > math.Abs(float64(a.By))) {
		*a = Apart[Q]{by, speed, true}
	}
}

// at is the point of a pull, in order of speed, at a speed between two of its own.
func at(points []Point, speed quantity.EngineSpeed) (Point, bool) {
	i, exact := slices.BinarySearchFunc(points, speed, func(p Point, s quantity.EngineSpeed) int { return cmp.Compare(p.Speed, s) })
	switch {
	case exact:
		return points[i], true
	case i == 0 || i == len(points):
		return Point{}, false
	}
	a, b := points[i-1], points[i]
	share := float64((speed - a.Speed) / (b.Speed - a.Speed))
	return Point{
		Speed: speed, Manifold: between(a.Manifold, b.Manifold, share), Drop: between(a.Drop, b.Drop, share),
		Duty: between(a.Duty, b.Duty, share), Lambda: between(a.Lambda, b.Lambda, share),
	}, true
}

func between[Q ~float64](a, b Q, share float64) Q { return a + (b-a)*Q(share) }
