package facts

import "feedproof/schema"

// Shape is the severity's shape: circle, dash, triangle, hollow circle, square,
// octagon.
func Shape(severity schema.Severity) string { return shapes[severity] }

var shapes = map[schema.Severity]string{
	schema.OK: "●", schema.Note: "–", schema.Flag: "▲", schema.Unproven: "○", schema.Hold: "■", schema.Block: "⯃", schema.Stop: "⯃",
}
