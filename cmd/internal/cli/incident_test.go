package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/schema"
)

func TestIncidentOptions(t *testing.T) {
	fills(t, newIncidentCommand,
		line[incidentOptions]{args: "kestrel|--what|spill|--severity|small", want: incidentOptions{car: "kestrel", data: schema.IncidentData{What: "spill", Severity: "small", Injury: schema.NotKnown}}},
		line[incidentOptions]{args: "kestrel|--what|spill|--severity|small|--injury|no|--action|bay aired|--at|08:30", want: incidentOptions{car: "kestrel", at: "08:30",
			data: schema.IncidentData{What: "spill", Severity: "small", Injury: schema.No, Action: "bay aired"}}},
		line[incidentOptions]{args: "kestrel|--injury|a bit", fault: `"a bit" is not one of`},
	)
}

func TestRunIncident(t *testing.T) {
	dir := desktest.Shop(t)
	spill := incidentOptions{car: "kestrel", data: schema.IncidentData{What: "0.8 L spilled", Severity: "small", Injury: schema.No}}
	says(t, dir, "tech-1", runIncident, spill, "kestrel #3 by tech-1: incident", "0.8 L spilled")
	answers(t, dir, "tech-1", runIncident, spill, "vehicle", "entry", "findings")
	refuses(t, dir, "tech-1", runIncident, incidentOptions{car: "kestrel", data: schema.IncidentData{What: "spill"}}, desk.Usage, "--what, --severity: say what happened and how bad it was")
	spill.at = "soon"
	refuses(t, dir, "tech-1", runIncident, spill, desk.Usage, `"soon" is not a time`)
}
