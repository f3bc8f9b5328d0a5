package cli

import (
	"io"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// Every group of flags that exclude each other, in every command, is refused in
// our words and as a slip in what was typed, and not in cobra's.
func TestEither(t *testing.T) {
	const exclusive = "cobra_annotation_mutually_exclusive" // where cobra keeps them, with a flag
	groups := map[string]bool{}
	var each func(*cobra.Command)
	each = func(c *cobra.Command) {
		c.Flags().VisitAll(func(f *pflag.Flag) {
			for _, group := range f.Annotations[exclusive] {
				groups[c.CommandPath()+"|"+group] = true
			}
		})
		for _, below := range c.Commands() {
			each(below)
		}
	}
	each(Commands())
	if len(groups) < 8 {
		t.Fatalf("only %d groups of flags: cobra keeps them elsewhere", len(groups))
	}
	for group := range groups {
		path, flags, _ := strings.Cut(group, "|")
		names := strings.Fields(flags)
		c, _, err := Commands().Find(strings.Fields(path)[1:])
		if err != nil || c.PreRunE == nil {
			t.Errorf("%s: %v, or nothing refuses two of them", group, err)
			continue
		}
		for _, name := range names[:2] {
			c.Flags().Lookup(name).Changed = true
		}
		fault := c.PreRunE(c, nil)
		if fault == nil {
			t.Errorf("%s: both are taken", group)
			continue
		}
		got, _ := explainFailure(fault)
		if got.Exit != exitUsage || !strings.HasSuffix(got.Text, "only one of them can be given") || !strings.Contains(got.Text, "--"+names[0]) || !strings.Contains(got.Text, "--"+names[1]) {
			t.Errorf("%s: %+v", group, got)
		}
	}
	var errs strings.Builder
	code := Main(World{In: strings.NewReader(""), Out: io.Discard, Err: &errs, Dir: t.TempDir(), Getenv: func(string) string { return "" }}, []string{"caution", "wren", "K02", "--na", "x", "--seen"})
	if code != exitUsage || !strings.Contains(errs.String(), "--na and --seen: only one of them can be given") {
		t.Errorf("exit %d: %s", code, errs.String())
	}
}
