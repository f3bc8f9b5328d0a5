package checklist_test

import (
	"strings"
	"testing"
	"time"

	"feedproof/checklist"
	"feedproof/schema/quantity"
)

// TestFuelCard reads the card of the clean car, whose odometer says 183402 km.
// Distances, days and months: common practice.
func TestFuelCard(t *testing.T) {
	a := assess(t, "clean")
	released := time.Date(2026, 3, 3, 10, 0, 0, 0, time.UTC)
	card := checklist.Card(a.Car, a.Car.Plan.Envelope, released, "2026-04-02")
	if got := quantity.In(card.From, "km"); got != 183482 {
		t.Errorf("re-check from %v km, want 183402 + 80", got)
	}
	if got := quantity.In(card.To, "km"); got != 183562 {
		t.Errorf("re-check to %v km, want 183402 + 160", got)
	}
	if card.Yearly != "2027-03-03" || card.Recheck != "2026-04-02" || card.Measured != "9 %" {
		t.Errorf("card %+v", card)
	}
	if card.Season != "" || len(card.Advice) != 1 {
		t.Errorf("a car on E10 is told of seasons: %q, %q", card.Season, card.Advice)
	}
}

// TestFuelCardOfAnEthanolCar: above E10, and where nobody knows, the season's
// fuel is measured again.
func TestFuelCardOfAnEthanolCar(t *testing.T) {
	for _, c := range []struct{ ethanol, day, want string }{
		{"10", "2026-03-03", ""}, {"10.1", "2026-03-03", "April 2026"}, {"85", "2026-04-01", "October 2026"},
		{"85", "2026-09-30", "October 2026"}, {"85", "2026-12-05", "April 2027"}, {"unknown", "2026-03-03", "April 2026"},
	} {
		edits := planSet("/envelope/ethanol_max", c.ethanol, "%")
		if c.ethanol == "unknown" {
			edits = []edit{{Entry: "plan", Set: map[string]any{"/envelope/ethanol_max": map[string]any{"state": "unknown"}}}}
		}
		a := assess(t, "clean", edits...)
		day, err := time.Parse(time.DateOnly, c.day)
		if err != nil {
			t.Fatal(err)
		}
		card := checklist.Card(a.Car, a.Car.Plan.Envelope, day, "")
		if card.Season != c.want || (c.want != "") != strings.Contains(strings.Join(card.Advice, " "), "measure the ethanol") {
			t.Errorf("E%s on %s: season %q, want %q; %q", c.ethanol, c.day, card.Season, c.want, card.Advice)
		}
	}
}

// TestFuelCardWithoutOdometer: what is not known is not printed.
func TestFuelCardWithoutOdometer(t *testing.T) {
	a := assess(t, "clean", edit{Entry: "visit", Unset: []string{"/odometer"}})
	if card := checklist.Card(a.Car, a.Car.Plan.Envelope, a.Car.Now, ""); card.Odometer != "" {
		t.Errorf("odometer %q comes from nowhere", card.Odometer)
	}
}
