package cli

import "github.com/spf13/cobra"

// examples are those of commands whose own file has none.
var examples = map[string]string{
	"feedproof":                  "  feedproof\n  feedproof work kestrel\n  feedproof --shop ~/myshop check kestrel",
	"feedproof board":            "  feedproof board\n  feedproof board --json",
	"feedproof check":            "  feedproof check kestrel\n  feedproof check kestrel --all",
	"feedproof commit":           "  feedproof commit kestrel -m \"bigger pump, tests repeated\"\n  feedproof commit kestrel --held -m \"pump too small\"",
	"feedproof demo":             "  feedproof demo\n  feedproof demo --tour\n  feedproof demo --dir myshop",
	"feedproof gauge":            "  feedproof gauge add P1 --name \"rail gauge\" --measures pressure --range \"0 to 10 bar\" --class \"0.1 %\"\n  feedproof gauge list",
	"feedproof gauge calibrate":  "  feedproof gauge calibrate P1 --date 2026-01-10 --due 2027-01-10 --certificate 1107",
	"feedproof gauge list":       "  feedproof gauge list",
	"feedproof holdpoint":        "  feedproof holdpoint list kestrel\n  feedproof holdpoint close kestrel HP5 --second tech-2",
	"feedproof holdpoint list":   "  feedproof holdpoint list kestrel",
	"feedproof holdpoint reopen": "  feedproof holdpoint reopen kestrel HP5 --why \"drip seen at the rail\"",
	"feedproof note":             "  feedproof note kestrel \"owner asked for a second fan\"",
	"feedproof part":             "  feedproof part receive PUMP-L --part pump --name \"in-tank pump\"\n  feedproof part list",
	"feedproof part list":        "  feedproof part list",
	"feedproof part quarantine":  "  feedproof part quarantine PUMP-L --why \"two of the lot came back\"",
	"feedproof vehicle":          "  feedproof vehicle list\n  feedproof vehicle show kestrel",
	"feedproof vehicle list":     "  feedproof vehicle list",
	"feedproof vehicle show":     "  feedproof vehicle show kestrel",
	"feedproof visit":            "  feedproof visit open kestrel --kind a,b --odometer \"84210 km\"\n  feedproof visit close kestrel",
	"feedproof visit close":      "  feedproof visit close kestrel",
	"feedproof waive":            "  feedproof waive kestrel \"L10 voltage lost to the pump\" --why \"margin was measured at 1.4 with this loss in the wiring, and the new cable is ordered for Friday\" --measure \"power held to 250 kW until then\" --expires 2026-04-01 --informed yes",
}

// illustrate gives every command its example.
func illustrate(c *cobra.Command) {
	if c.Example == "" {
		c.Example = examples[c.CommandPath()]
	}
	for _, sub := range c.Commands() {
		illustrate(sub)
	}
}
