package fuel

import (
	"fmt"
	"math"
	"sort"

	"feedproof/schema/quantity"
)

// SurfaceSlope is the tangent of the free surface of a liquid under a steady
// acceleration along the floor and one square to it: a/(g + up). Quasi-static:
// no waves, no baffles. Source: rigid-body motion of a liquid.
func SurfaceSlope(along, up quantity.Acceleration) float64 {
	return float64(along) / (quantity.G + float64(up))
}

// Surface is a tilted free surface in a closed rectangular tank: the depths at
// the two walls and the dry floor from the low wall.
type Surface struct {
	Low, High quantity.Length
	Dry       quantity.Length
}

// FreeSurface in a rectangular tank of a length and height, mean depth d and
// surface slope t. The four shapes: no wall reached, floor dry, floor dry and
// roof wet, roof wet. Errors on a depth outside the tank or a negative slope.
func FreeSurface(length, height, depth quantity.Length, slope float64) (Surface, error) {
	err := first(positive("tank length", length), positive("tank height", height), within("fuel depth", depth, 0, height))
	if err != nil {
		return Surface{}, err
	}
	if !(slope >= 0) {
		return Surface{}, fmt.Errorf("free surface: slope %g is negative", slope)
	}
	l, h, d := float64(length), float64(height), float64(depth)
	low, high := d-slope*l/2, d+slope*l/2
	switch {
	case low >= 0 && high <= h:
		return Surface{quantity.Length(low), quantity.Length(high), 0}, nil
	case slope == 0:
		return Surface{depth, depth, 0}, nil
	}
	if wet := math.Sqrt(2 * d * l / slope); wet <= l && wet*slope <= h {
		return Surface{0, quantity.Length(wet * slope), quantity.Length(l - wet)}, nil
	}
	if ullage := math.Sqrt(2 * (h - d) * l / slope); ullage <= l && ullage*slope <= h {
		return Surface{quantity.Length(h - ullage*slope), height, 0}, nil
	}
	return Surface{0, height, quantity.Length(l - (d*l/h + h/(2*slope)))}, nil
}

// Wetted is the floor that stays wet, from the high wall.
func (s Surface) Wetted(length quantity.Length) quantity.Length { return length - s.Dry }

// DepthPoint is one line of a measured tank: the volume in it at a depth.
type DepthPoint struct {
	Depth  quantity.Length
	Volume quantity.Volume
}

// DepthTable is a tank measured by filling it.
type DepthTable []DepthPoint

// Depth at a volume, linear between measured lines. Volume outside the table
// is an error that names the range.
func (t DepthTable) Depth(v quantity.Volume) (quantity.Length, error) {
	if len(t) < 2 {
		return 0, fmt.Errorf("tank depth table: %d lines, at least two are needed", len(t))
	}
	table := append(DepthTable(nil), t...)
	sort.Slice(table, func(a, b int) bool { return table[a].Depth < table[b].Depth })
	for i := 1; i < len(table); i++ {
		if table[i].Volume <= table[i-1].Volume {
			return 0, fmt.Errorf("tank depth table: volume does not grow from %s to %s deep", quantity.Text(table[i-1].Depth), quantity.Text(table[i].Depth))
		}
	}
	if err := within("tank volume", v, table[0].Volume, table[len(table)-1].Volume); err != nil {
		return 0, err
	}
	k := sort.Search(len(table)-2, func(k int) bool { return v <= table[k+1].Volume })
	a, b := table[k], table[k+1]
	return a.Depth + (b.Depth-a.Depth)*quantity.Length((v-a.Volume)/(b.Volume-a.Volume)), nil
}
