package cli

import (
	"feedproof/checklist"
	"feedproof/cmd/internal/terminal"
)

// diagnoses says what the findings look like together: likely causes in order,
// and the next check.
func diagnoses(out *terminal.Screen, all []checklist.Diagnosis) {
	for _, d := range all {
		out.Say("Looks like %s: %s. Likely, in this order:", d.Fault, d.Symptom)
		for i, cause := range d.Causes {
			out.Say("  %d. %s", i+1, cause)
		}
		out.Say("  Next check: %s", d.Next)
	}
}
