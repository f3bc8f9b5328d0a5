package fuel

import "feedproof/schema/quantity"

// RailPressures is what the injectors see along the rails at full power.
type RailPressures struct {
	Across  []quantity.Difference // first injector to last, rail by rail
	Lowest  quantity.Difference
	Highest quantity.Difference
}

func (p *planner) rails() error { return nil }
