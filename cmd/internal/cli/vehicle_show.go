package cli

import (
	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/schema"
)

// showJSON is one car with what is fitted.
type showJSON struct {
	ID      string                    `json:"id"`
	Vehicle schema.VehicleData        `json:"vehicle"`
	Fitted  map[string]schema.FitData `json:"fitted"`
	Stands  checkJSON                 `json:"stands"`
}

func (s *session) showVehicle(carName string) error {
	v, err := s.Car(carName)
	if err != nil {
		return err
	}
	a, err := s.Assess(v)
	if err != nil {
		return err
	}
	if s.flags.json {
		fitted := map[string]schema.FitData{}
		for position, f := range a.Car.Fitted {
			fitted[position] = f.Data
		}
		return s.JSON(showJSON{v.ID, v.Data, fitted, checkOf(v, a)})
	}
	s.top(v, a)
	s.Say("%s", desk.Joined(v.Data.Description, v.Data.Engine, v.Data.Displacement.String(), string(v.Data.Induction), string(v.Data.FuelSystem)))
	if tank := desk.Joined(v.Data.TankVolume.String(), v.Data.Tank); tank != "" {
		s.Say("tank: %s", tank)
	}
	if a.Car.Plan != nil {
		s.Say("planned for %s", facts.Envelope(a.Car.Plan.Envelope))
	}
	s.Table([]string{"WHERE", "PART", "BY", "DATE", "WHAT"}, facts.Fitted(a.Car))
	s.Say("Next: %s", desk.ForCar(a.Next, v.Data.Name))
	return nil
}

func checkOf(v desk.Car, a checklist.Assessment) checkJSON {
	return checkJSON{desk.Stands(v, a), checklist.RuleSet, list(desk.Named(a.Findings, v.Data.Name)), list(a.Points), list(checklist.Diagnose(a))}
}
