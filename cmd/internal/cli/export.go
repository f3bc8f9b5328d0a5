package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"feedproof/checklist"
	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/export"
	"feedproof/records"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// exportOptions are what leaves the shop, and for whom.
type exportOptions struct {
	car, whom   string
	copy, files bool
}

// Readers of an export.
const (
	forInspector = "inspector" // everything
	forOwner     = "new-owner" // technical, not personal; no notes
	forInsurer   = "insurer"   // facts, no personal part, no notes
)

func (a *app) exportCommand() *cobra.Command {
	var o exportOptions
	c := &cobra.Command{
		Use: "export DIR", Short: "all records, or one car's, as JSON Lines and CSV; or a copy", Args: takes("DIR"),
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
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			if o.copy {
				return s.copyShop(a.path(args[0]))
			}
			return s.exportRecords(a.path(args[0]), o)
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

func (s *session) exportRecords(dir string, o exportOptions) error {
	whom, err := oneOf(o.whom, []string{forInspector, forOwner, forInsurer})
	if err != nil {
		return wrong("--for inspector", "--for: %v", err)
	}
	if whom == forOwner && o.car == "" {
		return wrong("feedproof export DIR --car CAR --for new-owner", "--for new-owner: of which car")
	}
	view, err := s.View()
	if err != nil {
		return err
	}
	files, subject, err := s.filesToExport(view, o.car)
	if err != nil {
		return err
	}
	w, err := export.New(dir, export.Options{
		Personal: whom == forInspector, Notes: whom == forInspector,
		About: []string{
			subject + ", written by feedproof on " + s.Now().UTC().Format(time.RFC3339) + " for the " + strings.ReplaceAll(whom, "-", " "),
			"commit " + view.Commit() + ", rule set of this program " + checklist.RuleSet + "; each sign-off names the set it was made under",
		},
	})
	if err != nil {
		return wrong("a new folder", "%v", err)
	}
	told := told(s.Progress("exporting record"))
	for i, f := range files {
		if err := s.exportRecord(w, view, f, o.files, whom == forInspector); err != nil {
			return err
		}
		told(i+1, len(files))
	}
	if err := w.Close(); err != nil {
		return err
	}
	if s.flags.json {
		return s.JSON(struct {
			Dir     string `json:"dir"`
			Commit  string `json:"commit"`
			Records int    `json:"records"`
			Entries int    `json:"entries"`
			Files   int    `json:"files"`
		}{dir, view.Commit(), len(files), w.Entries, w.Files})
	}
	s.Say("%s: %s and %s of commit %.12s, for the %s", dir, desk.Plural(len(files), "record"), desk.Plural(w.Entries, "entry"), view.Commit(), strings.ReplaceAll(whom, "-", " "))
	if o.files {
		s.Say("%s beside them", desk.Plural(w.Files, "file"))
	}
	s.Say("check it with: sha256sum -c SHA256SUMS")
	if whom != forInspector {
		s.Warn("What was typed in words, such as the proof of a caution, may name people: read entries.jsonl before it is handed over.")
	}
	return nil
}

func (s *session) exportRecord(w *export.Writer, view records.View, f records.File, files, photos bool) error {
	r, err := view.Record(f.Kind, f.ID)
	if err != nil {
		return err
	}
	for _, e := range r.With().Entries {
		if err := w.Entry(f.Kind, r.ID, e); err != nil {
			return err
		}
		if !files || !photos && e.Kind != (schema.DatalogData{}).EntryKind() {
			continue
		}
		for _, sum := range records.EvidenceOf(e) {
			if err := s.exportFile(w, sum); err != nil {
				return err
			}
		}
	}
	return nil
}

// exportFile writes a file that an entry names. One that is not there, such as
// the original of a photo of which a smaller one was kept, is left out.
func (s *session) exportFile(w *export.Writer, sum string) error {
	in, err := s.Store().OpenEvidence(sum)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	return errors.Join(w.File(sum, in), in.Close())
}

// filesToExport lists the records of the shop, or of one car with what it
// names.
func (s *session) filesToExport(view records.View, carName string) ([]records.File, string, error) {
	if carName != "" {
		return s.filesOfCar(view, carName)
	}
	own, err := view.File(schema.ShopRecord, "")
	if err != nil {
		return nil, "", err
	}
	shop, err := view.Record(schema.ShopRecord, "")
	if err != nil {
		return nil, "", err
	}
	files := []records.File{own}
	for _, kind := range []schema.RecordKind{schema.GaugeRecord, schema.PartRecord, schema.VehicleRecord} {
		folders, err := view.Folders(kind)
		if err != nil {
			return nil, "", err
		}
		for _, f := range folders {
			more, err := view.Files(f)
			if err != nil {
				return nil, "", err
			}
			files = append(files, more...)
		}
	}
	return files, "all records of " + shop.ID, nil
}

func (s *session) filesOfCar(view records.View, carName string) ([]records.File, string, error) {
	v, err := s.Car(carName)
	if err != nil {
		return nil, "", err
	}
	f, err := view.File(schema.VehicleRecord, v.ID)
	if err != nil {
		return nil, "", err
	}
	files := []records.File{f}
	for _, named := range namedBy(v.Record) {
		if f, err := view.File(named.Kind, named.ID); err == nil {
			files = append(files, f)
		}
	}
	return files, desk.Describe([]string{v.Data.Name, v.Data.Plate}), nil
}

// namedBy lists the parts and gauges that a car's record names, each once.
func namedBy(r schema.Record) []records.File {
	var all []records.File
	add := func(kind schema.RecordKind, id string) {
		if f := (records.File{Kind: kind, ID: id}); id != "" && !slices.Contains(all, f) {
			all = append(all, f)
		}
	}
	for _, e := range r.Entries {
		if d, err := schema.Into[schema.FitData](e); err == nil {
			add(schema.PartRecord, d.Part)
		}
		if d, err := schema.Into[schema.PlanData](e); err == nil {
			add(schema.PartRecord, d.Pumps.Part)
			if d.Injectors != nil {
				add(schema.PartRecord, d.Injectors.Part)
			}
		}
		if d, err := schema.Into[schema.ReadingData](e); err == nil {
			for _, v := range d.Values {
				if v.Gauge != nil {
					add(schema.GaugeRecord, v.Gauge.Gauge)
				}
			}
		}
	}
	return all
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

// copyShop makes a read-only copy with its history; all of it is checked on
// the way.
func (s *session) copyShop(dir string) error {
	if found, err := os.ReadDir(dir); err == nil && len(found) > 0 {
		return wrong("a new folder", "%s: is not empty", dir)
	}
	shop, err := s.Own()
	if err != nil {
		return err
	}
	pinned := s.Device().Pinned
	made, report, err := records.Join(s.asking.Context(), s.Store().Dir(), dir, records.JoinOptions{
		Fingerprint: pinned, Device: records.Device{Name: "copy"}, Reach: s.reach(),
	})
	if err != nil {
		return err
	}
	device := made.Device()
	device.Copy = true
	if err := made.SetDevice(device); err != nil {
		return err
	}
	readme := fmt.Sprintf(copyReadme, shop.ID, s.Now().UTC().Format(time.RFC3339), pinned, report.Head)
	if err := os.WriteFile(filepath.Join(made.Dir(), "README.txt"), []byte(readme), 0o644); err != nil {
		return err
	}
	if err := export.WriteSums(made.Dir(), "cache"); err != nil {
		return err
	}
	if s.flags.json {
		return s.JSON(struct {
			Dir  string `json:"dir"`
			Head string `json:"head"`
			Key  string `json:"key"`
		}{made.Dir(), report.Head, pinned})
	}
	s.Say("%s: a copy of the whole history up to commit %.12s, checked on the way", made.Dir(), report.Head)
	s.Say("prove it: feedproof --shop %s verify; sha256sum -c SHA256SUMS", made.Dir())
	return nil
}
