package cli

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"slices"
	"strings"
	"time"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"

	"github.com/spf13/cobra"
)

// evidenceOptions are whose files are listed, or which of them is written out.
type evidenceOptions struct {
	car  string
	one  bool
	hash string
	to   string // the file it becomes
}

func newEvidenceCommand(run func(context.Context, evidenceOptions) error) *cobra.Command {
	var o evidenceOptions
	c := &cobra.Command{
		Use: "evidence CAR [HASH]", Short: "the files of a car, or one of them written out", Args: asUsed,
		Long:    "List the photos, files and logs of a car. With the beginning of a hash and --to\nthe file is written out; its bytes are held to the hash.",
		Example: "  feedproof evidence kestrel\n  feedproof evidence kestrel 9ab23d --to clip.jpg",
		RunE: func(c *cobra.Command, args []string) error {
			o.car = args[0]
			if len(args) > 1 {
				o.one, o.hash = true, args[1]
			}
			return run(c.Context(), o)
		},
	}
	c.Flags().StringVar(&o.to, "to", "", "the file to write")
	return c
}

func runEvidence(_ context.Context, d *desk.Desk, out *terminal.Screen, in folder, o evidenceOptions) error {
	c, err := d.Car(o.car)
	if err != nil {
		return err
	}
	files, err := d.Evidence(c)
	switch {
	case err != nil:
		return err
	case o.one:
		return writeEvidence(d, out, in, o, files)
	case out.AsJSON():
		return out.JSON(list(files))
	}
	listEvidence(out, o.car, files)
	return nil
}

func listEvidence(out *terminal.Screen, car string, files []desk.Evidence) {
	if len(files) == 0 {
		out.Say("no files: feedproof attach %s FILE ...", desk.Quoted(car))
		return
	}
	var rows [][]string
	for _, f := range files {
		state := ""
		switch {
		case !f.Kept:
			state = "not here"
		case f.Original:
			state = "original"
		}
		rows = append(rows, []string{f.SHA256[:12], f.At.Format(time.RFC3339), f.By, f.Fact, state})
	}
	out.Table([]string{"HASH", "WHEN", "BY", "WHAT", ""}, rows)
}

// wroteJSON is a file written out, as --json prints it.
type wroteJSON struct {
	File string        `json:"file"`
	Of   desk.Evidence `json:"of"`
}

func writeEvidence(d *desk.Desk, out *terminal.Screen, in folder, o evidenceOptions, files []desk.Evidence) error {
	slices.SortFunc(files, func(a, b desk.Evidence) int { return strings.Compare(a.SHA256, b.SHA256) })
	files = slices.CompactFunc(files, func(a, b desk.Evidence) bool { return a.SHA256 == b.SHA256 })
	i, err := desk.Pick("hash", o.hash, files, func(f desk.Evidence) []string { return []string{f.SHA256} })
	if err != nil {
		return err
	}
	if o.to == "" {
		return wrong("feedproof evidence "+desk.Quoted(o.car)+" "+o.hash+" --to FILE", "--to: which file shall it become")
	}
	content, err := d.Store().OpenEvidence(files[i].SHA256)
	if err != nil {
		return err
	}
	defer content.Close()
	if err := writeNew(in.path(o.to), o.to, content); err != nil {
		return err
	}
	if out.AsJSON() {
		return out.JSON(wroteJSON{o.to, files[i]})
	}
	out.Say("%s: %s", o.to, strings.TrimPrefix(files[i].Fact, "evidence: "))
	return nil
}

// writeNew writes a file that is not there yet, whole or not at all.
func writeNew(path, typed string, content io.Reader) error {
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return failed("another name after --to", "%s: is there already", typed)
	}
	if err != nil {
		return err
	}
	_, err = io.Copy(file, content)
	if err = errors.Join(err, file.Close()); err != nil {
		return errors.Join(err, os.Remove(path))
	}
	return nil
}
