package cli

import (
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"
)

// Commands is the tree of commands, to be read and not run.
func Commands() *cobra.Command {
	a := &app{World: World{In: strings.NewReader(""), Out: io.Discard, Err: io.Discard, Getenv: func(string) string { return "" }, Now: time.Now}}
	return a.root()
}
