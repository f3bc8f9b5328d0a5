// Command dev is what developers run beside the program: it measures it, breaks
// it, invents shops for it and writes what is generated.
package main

import (
	"os"

	"feedproof/cmd/dev/tool"
)

func main() { os.Exit(tool.Main(os.Args[1:], os.Stdout, os.Stderr)) }
