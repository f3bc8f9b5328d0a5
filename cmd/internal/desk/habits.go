package desk

import (
	"time"

	"feedproof/schema"
)

// Place is where a bay was with a car: what was picked and what was typed of a
// reading so far. It is kept at every answer.
type Place struct {
	Task   string         `json:"task,omitempty"`
	Test   string         `json:"test,omitempty"`
	Joints []string       `json:"joints,omitempty"`
	Given  []schema.Value `json:"given,omitempty"`
	By     string         `json:"by,omitempty"`   // who typed them
	Slip   string         `json:"slip,omitempty"` // the entry that can be taken back at once
	Until  time.Time      `json:"until,omitzero"`
}

// Habits are what a person is used to.
type Habits struct {
	Language string            `json:"language,omitempty"`
	System   string            `json:"system,omitempty"` // metric, us
	Units    map[string]string `json:"units,omitempty"`  // last unit of a quantity
	Gauges   map[string]string `json:"gauges,omitempty"` // last gauge of a quantity
}
