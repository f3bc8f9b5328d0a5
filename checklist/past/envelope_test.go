package past_test

import (
	"testing"

	"feedproof/checklist/past"
	"feedproof/schema"
	"feedproof/schema/quantity"

	"github.com/google/go-cmp/cmp"
)

// Most-limits widen upwards, least-limits downwards, and one that is left out
// widens; units do not matter. 1000 ft are 304.8 m (international foot).
func TestWidened(t *testing.T) {
	percent := func(x string) schema.Q[quantity.Fraction] {
		return schema.Write[quantity.Fraction](quantity.Written{Value: x, Unit: "%"})
	}
	height := func(x, unit string) schema.Q[quantity.Length] {
		return schema.Write[quantity.Length](quantity.Written{Value: x, Unit: unit})
	}
	was := schema.Envelope{EthanolMin: percent("5"), EthanolMax: percent("10"), FuelLevel: percent("25"), Altitude: height("304.8", "m")}
	unlimited := was
	unlimited.EthanolMax = schema.Q[quantity.Fraction]{State: schema.Unknown}
	for name, test := range map[string]struct {
		was, now schema.Envelope
		want     []past.Widening
	}{
		"the same":              {was, was, nil},
		"the same in feet":      {was, schema.Envelope{EthanolMin: percent("5"), EthanolMax: percent("10"), FuelLevel: percent("25"), Altitude: height("1000", "ft")}, nil},
		"narrower":              {was, schema.Envelope{EthanolMin: percent("6"), EthanolMax: percent("9"), FuelLevel: percent("30"), Altitude: height("300", "m")}, nil},
		"wider":                 {was, schema.Envelope{EthanolMin: percent("0"), EthanolMax: percent("85"), FuelLevel: percent("20"), Altitude: height("1001", "ft")}, []past.Widening{{"ethanol, most", "10 %", "85 %"}, {"ethanol, least", "5 %", "0 %"}, {"altitude", "304.8 m", "1001 ft"}, {"fuel level", "25 %", "20 %"}}},
		"left out":              {was, unlimited, []past.Widening{{"ethanol, most", "10 %", "unknown"}}},
		"limited for the first": {unlimited, was, nil},
	} {
		t.Run(name, func(t *testing.T) {
			if diff := cmp.Diff(test.want, past.Widened(test.was, test.now)); diff != "" {
				t.Error(diff)
			}
		})
	}
}
