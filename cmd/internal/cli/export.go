package cli

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"feedproof/checklist"
	"feedproof/checklist/state"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/export"
	"feedproof/cmd/internal/terminal"
	"feedproof/records"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// exportOptions are what leaves the shop, and for whom.
type exportOptions struct {
	dir         string
	car, whom   string
	copy, files bool
}

// Readers of an export.
const (
	forInspector = "inspector" // everything
	forOwner     = "new-owner" // technical, not personal; no notes
	forInsurer   = "insurer"   // facts, no personal part, no notes
)

func newExportCommand(run func(context.Context, exportOptions) error) *cobra.Command {
	var o exportOptions
	c := &cobra.Command{
		Use: "export DIR", Short: "all records, or one car's, as JSON Lines and CSV; or a copy", Args: asUsed,
		Long: `Write what is committed into a new folder, to be read without this program:
every entry as JSON Lines, tables as CSV, a data dictionary and checksums. What
is personal stands in a folder of its own; a new owner or an insurer gets
neither that nor free notes. What was typed in words elsewhere, such as the
proof of a caution, may name people: read it before it is handed over. With
--files what was attached comes along, each file under its SHA-256; photos may
show people and places, and go to an inspector alone.

--copy makes a read-only copy of the whole shop instead, with its history, for
an inspector's stick: it proves itself with feedproof verify, and any git clones
it. Keys and drafts never leave.`,
		Example: `  feedproof export leave
  feedproof export for-owner --car kestrel --for new-owner
  feedproof export leave --files
  feedproof export /media/stick/shop --copy`,
		RunE: func(c *cobra.Command, args []string) error {
			o.dir = args[0]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.car, "car", "", "one car, with the parts and gauges that it names")
	f.StringVar(&o.whom, "for", forInspector, "for whom: inspector, new-owner, insurer")
	f.BoolVar(&o.files, "files", false, "logs, photos and files too; for a new owner or an insurer the logs alone")
	f.BoolVar(&o.copy, "copy", false, "a read-only copy of the shop with its history")
	for _, part := range []string{"car", "for", "files"} { // a copy is whole
		either(c, "copy", part)
	}
	return c
}

func runExport(ctx context.Context, d *desk.Desk, out *terminal.Screen, world outside, o exportOptions) error {
	dir := world.path(o.dir)
	if o.copy {
		return exportCopy(ctx, d, out, dir, world.reach())
	}
	whom, err := oneOf(o.whom, []string{forInspector, forOwner, forInsurer})
	if err != nil {
		return wrong("--for inspector", "--for: %v", err)
	}
	if whom == forOwner && o.car == "" {
		return wrong("feedproof export DIR --car CAR --for new-owner", "--for new-owner: of which car")
	}
	return exportRecords(d, out, dir, whom, o)
}

// exportJSON is what was exported, as --json prints it.
type exportJSON struct {
	Dir     string `json:"dir"`
	Commit  string `json:"commit"`
	Records int    `json:"records"`
	Entries int    `json:"entries"`
	Files   int    `json:"files"`
}

func exportRecords(d *desk.Desk, out *terminal.Screen, dir, whom string, o exportOptions) error {
	view, err := d.View()
	if err != nil {
		return err
	}
	files, subject, err := filesToExport(d, o.car)
	if err != nil {
		return err
	}
	forWhom := strings.ReplaceAll(whom, "-", " ")
	w, err := export.New(dir, export.Options{
		Personal: whom == forInspector, Notes: whom == forInspector,
		About: []string{
			subject + ", written by feedproof on " + d.Now().UTC().Format(time.RFC3339) + " for the " + forWhom,
			"commit " + view.Commit() + ", rule set of this program " + checklist.RuleSet + "; each sign-off names the set it was made under",
		},
	})
	if err != nil {
		return wrong("a new folder", "%v", err)
	}
	told := told(out.Progress("exporting record"))
	for i, f := range files {
		if err := exportRecord(d, w, f, o.files, whom == forInspector); err != nil {
			return err
		}
		told(i+1, len(files))
	}
	if err := w.Close(); err != nil {
		return err
	}
	if out.AsJSON() {
		return out.JSON(exportJSON{dir, view.Commit(), len(files), w.Entries, w.Files})
	}
	out.Say("%s: %s and %s of commit %.12s, for the %s", dir, desk.Plural(len(files), "record"), desk.Plural(w.Entries, "entry"), view.Commit(), forWhom)
	if o.files {
		out.Say("%s beside them", desk.Plural(w.Files, "file"))
	}
	out.Say("check it with: sha256sum -c SHA256SUMS")
	if whom != forInspector {
		out.Warn("What was typed in words, such as the proof of a caution, may name people: read entries.jsonl before it is handed over.")
	}
	return nil
}

// filesToExport are the records of the shop, or of one car, and what they are
// called together.
func filesToExport(d *desk.Desk, car string) (files []records.File, subject string, err error) {
	if car != "" {
		c, err := d.Car(car)
		if err != nil {
			return nil, "", err
		}
		files, err := d.FilesOf(c)
		return files, desk.Describe([]string{c.Data.Name, c.Data.Plate}), err
	}
	own, err := d.Own()
	if err != nil {
		return nil, "", err
	}
	files, err = d.Files()
	return files, "all records of " + own.ID, err
}

func exportRecord(d *desk.Desk, w *export.Writer, f records.File, files, photos bool) error {
	view, err := d.View()
	if err != nil {
		return err
	}
	r, err := view.Record(f.Kind, f.ID)
	if err != nil {
		return err
	}
	for _, e := range state.Written(r) {
		if err := w.Entry(f.Kind, r.ID, e); err != nil {
			return err
		}
		if !files || !photos && e.Kind != (schema.DatalogData{}).EntryKind() {
			continue
		}
		for _, sum := range records.EvidenceOf(e) {
			if err := exportFile(d, w, sum); err != nil {
				return err
			}
		}
	}
	return nil
}

// exportFile writes a file that an entry names. One that is not there, such as
// the original of a photo of which a smaller one was kept, is left out.
func exportFile(d *desk.Desk, w *export.Writer, sum string) error {
	in, err := d.Store().OpenEvidence(sum)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	return errors.Join(w.File(sum, in), in.Close())
}

// copyReadme tells what a copy is and how it is checked.
const copyReadme = `A read-only copy of the records of %s, made on %s.

shop.git     the records: a bare git repository (git clone shop.git)
evidence     stands in it, by hash
SHA256SUMS   sha256sum -c SHA256SUMS

It proves itself: feedproof --shop . verify
  the history must begin with key %s
  and end with commit %s
The auditor's questions: feedproof --shop . ask
`

// copyJSON is the copy that was made, as --json prints it.
type copyJSON struct {
	Dir  string `json:"dir"`
	Head string `json:"head"`
	Key  string `json:"key"`
}

// exportCopy makes a read-only copy with its history; all of it is checked on
// the way.
func exportCopy(ctx context.Context, d *desk.Desk, out *terminal.Screen, dir string, reach records.SyncOptions) error {
	if found, err := os.ReadDir(dir); err == nil && len(found) > 0 {
		return wrong("a new folder", "%s: is not empty", dir)
	}
	shop, err := d.Own()
	if err != nil {
		return err
	}
	pinned := d.Device().Pinned
	made, report, err := records.Join(ctx, d.Store().Dir(), dir, records.JoinOptions{
		Fingerprint: pinned, Device: records.Device{Name: "copy"}, Reach: reach,
	})
	if err != nil {
		return err
	}
	device := made.Device()
	device.Copy = true
	if err := made.SetDevice(device); err != nil {
		return err
	}
	readme := fmt.Sprintf(copyReadme, shop.ID, d.Now().UTC().Format(time.RFC3339), pinned, report.Head)
	if err := os.WriteFile(filepath.Join(made.Dir(), "README.txt"), []byte(readme), 0o644); err != nil {
		return err
	}
	if err := export.WriteSums(made.Dir(), "cache"); err != nil {
		return err
	}
	if out.AsJSON() {
		return out.JSON(copyJSON{made.Dir(), report.Head, pinned})
	}
	out.Say("%s: a copy of the whole history up to commit %.12s, checked on the way", made.Dir(), report.Head)
	out.Say("prove it: feedproof --shop %s verify; sha256sum -c SHA256SUMS", made.Dir())
	return nil
}
