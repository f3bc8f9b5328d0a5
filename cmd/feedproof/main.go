// Command feedproof is a shop's build log and inspection checklist for
// fuel-system work. All of it is in package cli.
package main

import (
	"os"

	"feedproof/cmd/internal/cli"
)

func main() { os.Exit(cli.Main(cli.System(), os.Args[1:])) }
