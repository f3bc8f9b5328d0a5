package audit

import (
	"bytes"
	"slices"
	"strings"
	"time"

	"feedproof/checklist/state"
	"feedproof/schema"
)

// Claims are what other cars' records say of the serials that are fitted in
// this one, and of its chassis number, as far as they are committed. The shop
// is opened only when the car has any.
func Claims(open func() (Source, error), r schema.Record) ([]schema.Claim, error) {
	own := state.Fold(state.Told(r), schema.Shop{}, time.Time{})
	var serials []string
	for _, f := range own.Fitted {
		serials = append(serials, f.Data.Serials...)
	}
	if len(serials) == 0 && own.Vehicle.VIN == "" {
		return nil, nil
	}
	src, err := open()
	if err != nil {
		return nil, err
	}
	names := map[string]string{}
	var claims []schema.Claim
	err = tableCars.read(src, func(id string, facts []byte) error {
		cars, err := decode[carFact](facts)
		if err != nil || id == r.ID || len(cars) == 0 {
			return err
		}
		names[id] = cars[0].Name
		if own.Vehicle.VIN != "" && strings.EqualFold(cars[0].VIN, own.Vehicle.VIN) {
			claims = append(claims, schema.Claim{Vehicle: id, Name: cars[0].Name, VIN: cars[0].VIN})
		}
		return nil
	})
	if err != nil || len(serials) == 0 {
		return claims, err
	}
	err = tableFits.read(src, func(id string, facts []byte) error {
		if id == r.ID || !mentions(facts, serials) {
			return nil
		}
		fits, err := decode[fitFact](facts)
		if err != nil {
			return err
		}
		for _, f := range fits {
			for _, serial := range f.Serials {
				if f.Out == nil && containsFold(serials, serial) {
					claims = append(claims, schema.Claim{Vehicle: id, Name: names[id], Serial: serial, Position: f.Position, Part: f.Part})
				}
			}
		}
		return nil
	})
	return claims, err
}

// mentions spares reading the facts of cars that name none of the serials.
func mentions(facts []byte, serials []string) bool {
	lower := bytes.ToLower(facts)
	return slices.ContainsFunc(serials, func(s string) bool { return bytes.Contains(lower, bytes.ToLower([]byte(s))) })
}
