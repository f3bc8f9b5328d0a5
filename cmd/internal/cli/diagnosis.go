package cli

import "feedproof/checklist"

// diagnoses says what the findings look like together: likely causes in order,
// and the next check.
func (s *session) diagnoses(all []checklist.Diagnosis) {
	for _, d := range all {
		s.Say("Looks like %s: %s. Likely, in this order:", d.Fault, d.Symptom)
		for i, cause := range d.Causes {
			s.Say("  %d. %s", i+1, cause)
		}
		s.Say("  Next check: %s", d.Next)
	}
}
