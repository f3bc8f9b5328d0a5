package desk

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"path/filepath"
	"time"

	"feedproof/checklist/state"
	"feedproof/cmd/internal/facts"
	"feedproof/records"
	"feedproof/records/photo"
	"feedproof/schema"
)

// Evidence is a file of a car.
type Evidence struct {
	Entry    string    `json:"entry"`
	At       time.Time `json:"at"`
	By       string    `json:"by"`
	Fact     string    `json:"fact"`
	SHA256   string    `json:"sha256"`
	Original bool      `json:"original"` // the photo as it came, beside its working copy
	Kept     bool      `json:"kept"`     // its bytes are in this shop
}

// Evidence lists the files of a car. The original of a photo is one when it was
// kept.
func (d *Desk) Evidence(c Car) ([]Evidence, error) {
	var files []Evidence
	for _, e := range state.Written(c.Whole()) {
		for i, sum := range records.EvidenceOf(e) {
			kept, err := d.hasFile(sum)
			if err != nil {
				return nil, err
			}
			if original := i > 0; kept || !original {
				files = append(files, Evidence{e.ID, e.At, e.By, facts.Fact(e), sum, original, kept})
			}
		}
	}
	return files, nil
}

func (d *Desk) hasFile(sum string) (bool, error) {
	in, err := d.shop.OpenEvidence(sum)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	return true, in.Close()
}

// File is a file that somebody hands over as evidence.
type File struct {
	Name     string // as it was named, with its folder
	Type     string // media type, unless it is a photo: that tells by itself
	Content  Content
	Step     string // the step that it shows, by its id
	Note     string
	Original bool // keep a photo as it came, too
}

// Content is the bytes of a file from their beginning, to be read more than
// once.
type Content interface {
	io.ReadSeeker
	io.ReaderAt
}

// Attach keeps a file and records it as evidence of a car. Of a photo the
// working copy is kept, and the hash of the photo as it came. That the same
// file stands in the record of another car is warned of and recorded.
func (d *Desk) Attach(c Car, at time.Time, f File) (Recorded, error) {
	data := schema.EvidenceData{Type: f.Type, What: Joined(f.Note, filepath.Base(f.Name)), Step: f.Step}
	content, err := d.workingCopy(f, &data)
	if err != nil {
		return Recorded{}, err
	}
	kept, err := d.KeepFile(f.Name, content)
	if err != nil {
		return Recorded{}, err
	}
	data.SHA256, data.Bytes = kept.SHA256, kept.Bytes
	if data.Entries, err = d.OtherUses(c, kept); err != nil {
		return Recorded{}, err
	}
	return d.Record(c, at, data)
}

// begins is how many bytes tell a photo.
const begins = 16

// workingCopy is what is kept of a file: of a photo the copy that is made here,
// whose type and original are noted.
func (d *Desk) workingCopy(f File, data *schema.EvidenceData) (io.Reader, error) {
	begin := make([]byte, begins)
	n, _ := f.Content.ReadAt(begin, 0)
	if !photo.Is(begin[:n]) {
		return f.Content, nil
	}
	working, err := photo.Working(f.Content)
	if err != nil {
		return nil, failed("make it smaller, or send it as another kind of file", f.Name, "%v", err)
	}
	data.Type = working.Type
	if _, err := f.Content.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	data.Original, err = d.original(f)
	return bytes.NewReader(working.Bytes), err
}

// original is the hash of a photo as it came, which is kept if it shall be.
func (d *Desk) original(f File) (string, error) {
	if f.Original {
		kept, err := d.KeepFile(f.Name, f.Content)
		return kept.SHA256, err
	}
	sum := sha256.New()
	_, err := io.Copy(sum, f.Content)
	return hex.EncodeToString(sum.Sum(nil)), err
}

// KeepFile puts bytes into the shop and names their file in the error.
func (d *Desk) KeepFile(name string, content io.Reader) (records.Evidence, error) {
	kept, err := d.shop.Keep(content)
	if unfit := (*records.EvidenceError)(nil); errors.As(err, &unfit) {
		return kept, failed("ls -l "+Quoted(name), name, "%s", unfit.Reason)
	}
	return kept, err
}

// OtherUses is the entries of other cars that name the same file, and warns of
// them: a photo belongs to one car.
func (d *Desk) OtherUses(c Car, kept records.Evidence) ([]string, error) {
	if !kept.Known {
		return nil, nil
	}
	uses, err := d.shop.UsesOf(kept.SHA256)
	if err != nil {
		return nil, err
	}
	var entries []string
	for _, u := range uses {
		if u.Vehicle == c.ID {
			continue
		}
		other, err := d.Car(u.Vehicle)
		if err != nil {
			return nil, err
		}
		d.warn("the same file stands in the record of %s: it proves nothing for %s", other.Data.Name, c.Data.Name)
		entries = append(entries, u.Entry)
	}
	return entries, nil
}
