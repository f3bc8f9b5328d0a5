// Package manual writes what the program says of its commands into files:
// manual pages, and one reference as Markdown. Both come from the commands
// themselves.
//
// Start with [Write], which go generate calls. What is deliberately absent:
// any text of its own.
package manual

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"feedproof/cmd/internal/cli"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

//go:generate go run feedproof/cmd/dev manual ../../feedproof/docs

// Run writes them into the folder that is named.
func Run(args []string, _ io.Writer) error {
	if len(args) != 1 {
		return fmt.Errorf("manual: want the folder, got %q", args)
	}
	return Write(args[0])
}

// Write writes man/*.1 and reference.md into a folder. What is in man already
// is taken away first: a command that went leaves no page.
func Write(dir string) error {
	root := cli.Commands()
	tell(root)
	man := filepath.Join(dir, "man")
	if err := os.RemoveAll(man); err != nil {
		return err
	}
	if err := os.MkdirAll(man, 0o755); err != nil {
		return err
	}
	date := time.Date(2026, time.November, 1, 0, 0, 0, 0, time.UTC) // of this form of the pages, so that they are the same every day
	header := &doc.GenManHeader{Title: "FEEDPROOF", Section: "1", Source: "feedproof", Manual: "feedproof", Date: &date}
	if err := doc.GenManTree(root, header, man); err != nil {
		return err
	}
	text, err := markdown(root)
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(dir, "reference.md"), text, 0o644)
}

// tell lets every command write its long text, which it does when it is asked
// for help.
func tell(c *cobra.Command) {
	c.DisableAutoGenTag = true
	c.SetOut(io.Discard)
	_ = c.Help()
	for _, sub := range c.Commands() {
		tell(sub)
	}
}

// markdown is every command below another, in one page.
func markdown(root *cobra.Command) ([]byte, error) {
	var b bytes.Buffer
	b.WriteString("# Reference\n\nEvery command, as `feedproof COMMAND --help` says it. Written by `go generate ./cmd/dev/manual`.\n\n")
	var visit func(*cobra.Command) error
	visit = func(c *cobra.Command) error {
		if c.IsAvailableCommand() || c == root {
			describe(&b, c)
		}
		for _, sub := range c.Commands() {
			if err := visit(sub); err != nil {
				return err
			}
		}
		return nil
	}
	err := visit(root)
	return bytes.TrimRight(b.Bytes(), "\n"), err
}

func describe(b *bytes.Buffer, c *cobra.Command) {
	fmt.Fprintf(b, "## %s\n\n%s\n\n", c.CommandPath(), upper(c.Short)+".")
	text := []string{c.UseLine()}
	if c.Long != "" {
		text = append(text, "", c.Long)
	}
	if c.Example != "" {
		text = append(text, "", "Examples:", c.Example)
	}
	if flags := c.NonInheritedFlags().FlagUsagesWrapped(80); flags != "" {
		text = append(text, "", "Flags:", strings.TrimRight(flags, "\n"))
	}
	fmt.Fprintf(b, "```text\n%s\n```\n\n", strings.Join(text, "\n"))
}

func upper(text string) string {
	if text == "" {
		return text
	}
	return strings.ToUpper(text[:1]) + text[1:]
}
