package cli

import "github.com/spf13/cobra"

// examples are those of commands whose own file has none.
var examples = map[string]string{
	"feedproof":                  "  feedproof\n  feedproof work kestrel\n  feedproof --shop ~/myshop check kestrel",
	"feedproof board":            "  feedproof board\n  feedproof board --json",
	"feedproof check":            "  feedproof check kestrel\n  feedproof check kestrel --all",
	"feedproof commit":           "  feedproof commit kestrel -m \"bigger pump, tests repeated\"\n  feedproof commit kestrel --held -m \"pump too small\"",
	"feedproof demo":             "  feedproof demo\n  feedproof demo --tour\n  feedproof demo --dir myshop",
	"feedproof holdpoint":        "  feedproof holdpoint list kestrel\n  feedproof holdpoint close kestrel HP5 --second tech-2",
	"feedproof holdpoint list":   "  feedproof holdpoint list kestrel",
	"feedproof holdpoint reopen": "  feedproof holdpoint reopen kestrel HP5 --why \"drip seen at the rail\"",
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
