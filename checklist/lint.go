package checklist

import (
	"feedproof/checklist/procedures"
	"feedproof/checklist/rules"
)

// Lint lists what is wrong with the shipped procedures, cautions and faults,
// against the rules that there are. Nothing wrong gives nothing.
func Lint() ([]string, error) {
	book, err := procedures.Load()
	if err != nil {
		return nil, err
	}
	var ids []string
	for _, r := range rules.All() {
		ids = append(ids, r.ID)
	}
	return procedures.Lint(book, ids), nil
}
