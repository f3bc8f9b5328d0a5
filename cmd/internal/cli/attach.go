package cli

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"feedproof/cmd/internal/desk"
	"feedproof/records"
	"feedproof/records/photo"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// attachOptions are the flags of attach.
type attachOptions struct {
	step, note, at string
	original       bool
}

func (a *app) attachCommand() *cobra.Command {
	var o attachOptions
	c := &cobra.Command{
		Use: "attach CAR FILE ...", Short: "keep photos and files as evidence, by their hash", Args: takesAtLeast("CAR", "FILE"),
		Long: `Keep photos and files as evidence. The bytes go into the shop under their
SHA-256 and travel with it. A folder stands for the files in it.

Of a JPEG or PNG photo a working copy is kept, turned upright, at most 400 kB,
without the place where it was taken, and the hash of the photo as it came.
--original keeps the photo as well, with all that the camera wrote into it.`,
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
	f.BoolVar(&o.original, "original", false, "keep photos as they came, too")
	f.StringVar(&o.at, "at", "", "when it was taken")
	return c
}

func (s *session) attach(carName string, names []string, o attachOptions) error {
	at, err := moment(s.Now(), o.at)
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
		v, err := s.Car(carName)
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
			return nil, failed("ls "+desk.Quoted(name), "%s: has no file in it", name)
		}
	}
	return files, nil
}

func unreadable(name string, err error) error {
	return failed("ls "+desk.Quoted(filepath.Dir(name)), "%s: cannot be read: %v", name, err)
}

func (s *session) attachFile(v desk.Car, name string, at time.Time, o attachOptions) error {
	in, err := os.Open(s.path(name))
	if err != nil {
		return unreadable(name, err)
	}
	defer in.Close()
	d := schema.EvidenceData{Type: mediaType(name), What: desk.Joined(o.note, filepath.Base(name)), Step: o.step}
	begin := make([]byte, 16)
	n, _ := in.ReadAt(begin, 0)
	var content io.Reader = in
	if photo.Is(begin[:n]) {
		working, err := s.workingCopy(name, in, o.original, &d)
		if err != nil {
			return err
		}
		content = working
	}
	kept, err := s.keep(name, content)
	if err != nil {
		return err
	}
	d.SHA256, d.Bytes = kept.SHA256, kept.Bytes
	if d.Entries, err = s.otherCars(v, kept); err != nil {
		return err
	}
	return s.record(v, at, d)
}

// workingCopy makes the copy of a photo that is kept, and notes the hash of the photo as it came.
func (s *session) workingCopy(name string, in *os.File, original bool, d *schema.EvidenceData) (io.Reader, error) {
	working, err := photo.Working(in)
	if err != nil {
		return nil, failed("make it smaller, or send it as another kind of file", "%s: %v", name, err)
	}
	d.Type = working.Type
	if _, err := in.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	if original {
		kept, err := s.keep(name, in)
		d.Original = kept.SHA256
		return bytes.NewReader(working.Bytes), err
	}
	sum := sha256.New()
	_, err = io.Copy(sum, in)
	d.Original = hex.EncodeToString(sum.Sum(nil))
	return bytes.NewReader(working.Bytes), err
}

// otherCars is the entries of other cars that name the same file, and says so: a photo belongs to one car.
func (s *session) otherCars(v desk.Car, kept records.Evidence) ([]string, error) {
	if !kept.Known {
		return nil, nil
	}
	uses, err := s.Store().UsesOf(kept.SHA256)
	if err != nil {
		return nil, err
	}
	var entries []string
	for _, u := range uses {
		if u.Vehicle == v.ID {
			continue
		}
		other, err := s.Car(u.Vehicle)
		if err != nil {
			return nil, err
		}
		s.Warn("the same file stands in the record of %s: it proves nothing for %s", other.Data.Name, v.Data.Name)
		entries = append(entries, u.Entry)
	}
	return entries, nil
}

// keep puts a file into the shop and names it in the error.
func (s *session) keep(name string, content io.Reader) (records.Evidence, error) {
	kept, err := s.Store().Keep(content)
	if unfit := (*records.EvidenceError)(nil); errors.As(err, &unfit) {
		return kept, failed("ls -l "+desk.Quoted(name), "%s: %s", name, unfit.Reason)
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
