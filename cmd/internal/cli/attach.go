package cli

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"feedproof/records"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// attachOptions are the flags of attach.
type attachOptions struct {
	step, note, at string
}

func (a *app) attachCommand() *cobra.Command {
	var o attachOptions
	c := &cobra.Command{
		Use: "attach CAR FILE ...", Short: "keep photos and files as evidence, by their hash", Args: takesAtLeast("CAR", "FILE"),
		Long: `Keep photos and files as evidence. The bytes go into the shop under their
SHA-256 and travel with it. A folder stands for the files in it.`,
		Example: `  feedproof attach kestrel hose-marking.jpg --step D2 --note "hose in the tank"
  feedproof attach kestrel ~/photos/today`,
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.attach(args[0], args[1:], o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.step, "step", "", "the step that it shows")
	f.StringVar(&o.note, "note", "", "what it shows, in words")
	f.StringVar(&o.at, "at", "", "when it was taken")
	return c
}

func (s *session) attach(carName string, names []string, o attachOptions) error {
	at, err := s.moment(o.at)
	if err != nil {
		return err
	}
	if o.step != "" {
		step, err := stepNamed(o.step)
		if err != nil {
			return err
		}
		o.step = step.ID
	}
	files, err := s.filesIn(names)
	if err != nil {
		return err
	}
	for _, name := range files {
		v, err := s.car(carName)
		if err != nil {
			return err
		}
		if err := s.attachFile(v, name, at, o); err != nil {
			return err
		}
	}
	return nil
}

// filesIn is the files named, and those in the folders named.
func (s *session) filesIn(names []string) ([]string, error) {
	var files []string
	for _, name := range names {
		info, err := os.Stat(s.path(name))
		if err != nil {
			return nil, unreadable(name, err)
		}
		if !info.IsDir() {
			files = append(files, name)
			continue
		}
		found := len(files)
		inside, err := os.ReadDir(s.path(name))
		if err != nil {
			return nil, unreadable(name, err)
		}
		for _, f := range inside {
			if f.Type().IsRegular() && !strings.HasPrefix(f.Name(), ".") {
				files = append(files, filepath.Join(name, f.Name()))
			}
		}
		if len(files) == found {
			return nil, failed("ls "+quoted(name), "%s: has no file in it", name)
		}
	}
	return files, nil
}

func unreadable(name string, err error) error {
	return failed("ls "+quoted(filepath.Dir(name)), "%s: cannot be read: %v", name, err)
}

func (s *session) attachFile(v vehicle, name string, at time.Time, o attachOptions) error {
	in, err := os.Open(s.path(name))
	if err != nil {
		return unreadable(name, err)
	}
	defer in.Close()
	kept, err := s.keep(name, in)
	if err != nil {
		return err
	}
	return s.record(v, at, schema.EvidenceData{
		SHA256: kept.SHA256, Bytes: kept.Bytes, Type: mediaType(name), What: joinNonEmpty(o.note, filepath.Base(name)), Step: o.step,
	})
}

// keep puts a file into the shop and names it in the error.
func (s *session) keep(name string, content io.Reader) (records.Evidence, error) {
	kept, err := s.shop.Keep(content)
	if unfit := (*records.EvidenceError)(nil); errors.As(err, &unfit) {
		return kept, failed("ls -l "+quoted(name), "%s: %s", name, unfit.Reason)
	}
	return kept, err
}

// mediaTypes of the files that come from phones, loggers and suppliers.
var mediaTypes = map[string]string{
	".jpg": "image/jpeg", ".jpeg": "image/jpeg", ".png": "image/png", ".heic": "image/heic", ".webp": "image/webp",
	".mp4": "video/mp4", ".mov": "video/quicktime", ".m4a": "audio/mp4", ".wav": "audio/wav",
	".pdf": "application/pdf", ".csv": "text/csv", ".txt": "text/plain", ".json": "application/json", ".zip": "application/zip",
	".gz": "application/gzip", ".zst": "application/zstd",
}

func mediaType(name string) string {
	if known, ok := mediaTypes[strings.ToLower(filepath.Ext(name))]; ok {
		return known
	}
	return "application/octet-stream"
}
