package facts

import "feedproof/checklist"

// FuelCard lists what the card says: what, value.
func FuelCard(card checklist.FuelCard) [][]string {
	rows := [][]string{
		{"ethanol allowed", card.EthanolMin.String() + " to " + card.EthanolMax.String()},
		{"fuel level for hard driving", "from " + card.Level.String()},
	}
	for _, r := range [][]string{
		{"ethanol when released", card.Measured}, {"measure the ethanol again", card.Season},
		{"re-check by", card.Recheck}, {"or at", card.Odometer}, {"yearly check by", card.Yearly},
	} {
		if r[1] != "" {
			rows = append(rows, r)
		}
	}
	return rows
}
