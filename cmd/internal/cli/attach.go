package cli

import (
	"bytes"
	"context"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"

	"github.com/spf13/cobra"
)

// attachOptions are files, and what they show.
type attachOptions struct {
	car            string
	files          []string // or folders
	step, note, at string
	original       bool
}

func newAttachCommand(run func(context.Context, attachOptions) error) *cobra.Command {
	var o attachOptions
	c := &cobra.Command{
		Use: "attach CAR FILE ...", Short: "keep photos and files as evidence, by their hash", Args: asUsed,
		Long: `Keep photos and files as evidence. The bytes go into the shop under their
SHA-256 and travel with it. A folder stands for the files in it.

Of a JPEG or PNG photo a working copy is kept, turned upright, at most 400 kB,
without the place where it was taken, and the hash of the photo as it came.
--original keeps the photo as well, with all that the camera wrote into it.`,
		Example: `  feedproof attach kestrel hose-marking.jpg --step D2 --note "hose in the tank"
  feedproof attach kestrel ~/photos/today`,
		RunE: func(c *cobra.Command, args []string) error {
			o.car, o.files = args[0], args[1:]
			return run(c.Context(), o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.step, "step", "", "the step that it shows")
	f.StringVar(&o.note, "note", "", "what it shows, in words")
	f.BoolVar(&o.original, "original", false, "keep photos as they came, too")
	f.StringVar(&o.at, "at", "", "when it was taken")
	return c
}

func runAttach(_ context.Context, d *desk.Desk, out *terminal.Screen, in folder, o attachOptions) error {
	at, err := moment(d.Now(), o.at)
	if err != nil {
		return err
	}
	f := desk.File{Note: o.note, Original: o.original}
	if o.step != "" {
		step, err := desk.Step(o.step)
		if err != nil {
			return err
		}
		f.Step = step.ID
	}
	names, err := filesIn(in, o.files)
	if err != nil {
		return err
	}
	return showEach(out, func(yield func(desk.Recorded, error) bool) {
		for _, f.Name = range names {
			if !yield(attachFile(d, in, o.car, at, f)) {
				return
			}
		}
	})
}

// filesIn is the files named, and those in the folders named.
func filesIn(in folder, names []string) ([]string, error) {
	var files []string
	for _, name := range names {
		info, err := os.Stat(in.path(name))
		if err != nil {
			return nil, unreadable(name, err)
		}
		if !info.IsDir() {
			files = append(files, name)
			continue
		}
		found, err := filesOf(in, name)
		if err != nil {
			return nil, err
		}
		files = append(files, found...)
	}
	return files, nil
}

// filesOf is the files in a folder, without those that are hidden.
func filesOf(in folder, name string) ([]string, error) {
	inside, err := os.ReadDir(in.path(name))
	if err != nil {
		return nil, unreadable(name, err)
	}
	var files []string
	for _, f := range inside {
		if f.Type().IsRegular() && !strings.HasPrefix(f.Name(), ".") {
			files = append(files, filepath.Join(name, f.Name()))
		}
	}
	if len(files) == 0 {
		return nil, failed("ls "+desk.Quoted(name), "%s: has no file in it", name)
	}
	return files, nil
}

func unreadable(name string, err error) error {
	return failed("ls "+desk.Quoted(filepath.Dir(name)), "%s: cannot be read: %v", name, err)
}

func attachFile(d *desk.Desk, in folder, car string, at time.Time, f desk.File) (desk.Recorded, error) {
	c, err := d.Car(car)
	if err != nil {
		return desk.Recorded{}, err
	}
	content, err := os.Open(in.path(f.Name))
	if err != nil {
		return desk.Recorded{}, unreadable(f.Name, err)
	}
	defer content.Close()
	if err := attachable(f.Name, content); err != nil {
		return desk.Recorded{}, err
	}
	f.Content, f.Type = content, mediaType(f.Name)
	return d.Attach(c, at, f)
}

// largestAttached is how many bytes one file may have: history keeps it for good, and every machine and stick gets it.
const largestAttached = 32 << 20

// secretMarks stand in files that hold a private key: RFC 7468, section 10 and 11, of which OpenSSH's form is one; and what that holds, unarmoured.
var secretMarks = [][]byte{[]byte("PRIVATE KEY-----"), []byte("openssh-key-v1\x00")}

// attachable looks at the content of a file before it goes into history for good: no private key, nothing too large, and a photo is one.
func attachable(name string, file *os.File) error {
	info, err := file.Stat()
	if err != nil {
		return unreadable(name, err)
	}
	if info.Size() > largestAttached {
		return failed("attach the part of it that shows the matter, or a smaller copy", "%s: is %d MB, more than %d: every machine and stick would carry it for good", name, info.Size()>>20, largestAttached>>20)
	}
	content, err := io.ReadAll(io.LimitReader(file, largestAttached))
	if err != nil {
		return unreadable(name, err)
	}
	for _, mark := range secretMarks {
		if bytes.Contains(content, mark) {
			return &desk.Error{Kind: desk.Refused, Wrong: name + ": holds a private key, which would stand in history for good", Mend: "attach the public half, NAME.pub"}
		}
	}
	if says := mediaType(name); !bytes.HasPrefix(content, []byte(firstBytes[says])) {
		return failed("file "+desk.Quoted(name), "%s: is no %s, by its first bytes", name, says)
	}
	_, err = file.Seek(0, io.SeekStart)
	return err
}

// firstBytes of the types that have them, by the WHATWG's MIME Sniffing standard, sections 6.1 and 7.
var firstBytes = map[string]string{"image/jpeg": "\xff\xd8\xff", "image/png": "\x89PNG\r\n\x1a\n", "application/pdf": "%PDF-", "application/zip": "PK\x03\x04", "application/gzip": "\x1f\x8b"}

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
