package cli

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"slices"
	"strings"
	"time"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/facts"
	"feedproof/records"

	"github.com/spf13/cobra"
)

func (a *app) evidenceCommand() *cobra.Command {
	var to string
	c := &cobra.Command{
		Use: "evidence CAR [HASH]", Short: "the files of a car, or one of them written out", Args: takesAtLeast("CAR"),
		Long:    "List the photos, files and logs of a car. With the beginning of a hash and --to\nthe file is written out; its bytes are held to the hash.",
		Example: "  feedproof evidence kestrel\n  feedproof evidence kestrel 9ab23d --to clip.jpg",
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			if len(args) == 1 {
				return s.listEvidence(args[0])
			}
			return s.writeEvidence(args[0], args[1], to)
		},
	}
	c.Flags().StringVar(&to, "to", "", "the file to write")
	return c
}

// evidenceJSON is a file of a car, as --json prints it.
type evidenceJSON struct {
	Entry    string    `json:"entry"`
	At       time.Time `json:"at"`
	By       string    `json:"by"`
	Fact     string    `json:"fact"`
	SHA256   string    `json:"sha256"`
	Original bool      `json:"original"` // the photo as it came, beside its working copy
	Kept     bool      `json:"kept"`     // its bytes are in this shop
}

// evidence is the files of a car. The original of a photo is one when it was kept.
func (s *session) evidence(carName string) ([]evidenceJSON, error) {
	v, err := s.Car(carName)
	if err != nil {
		return nil, err
	}
	var files []evidenceJSON
	for _, e := range v.Whole().Entries {
		for i, sum := range records.EvidenceOf(e) {
			kept, err := s.isKept(sum)
			if err != nil {
				return nil, err
			}
			if original := i > 0; kept || !original {
				files = append(files, evidenceJSON{e.ID, e.At, e.By, facts.Fact(e), sum, original, kept})
			}
		}
	}
	return files, nil
}

func (s *session) isKept(sum string) (bool, error) {
	in, err := s.Store().OpenEvidence(sum)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	return true, in.Close()
}

func (s *session) listEvidence(carName string) error {
	files, err := s.evidence(carName)
	if err != nil {
		return err
	}
	if s.flags.json {
		return s.JSON(list(files))
	}
	if len(files) == 0 {
		s.Say("no files: feedproof attach %s FILE ...", desk.Quoted(carName))
		return nil
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
	s.Table([]string{"HASH", "WHEN", "BY", "WHAT", ""}, rows)
	return nil
}

func (s *session) writeEvidence(carName, hash, to string) error {
	files, err := s.evidence(carName)
	if err != nil {
		return err
	}
	slices.SortFunc(files, func(a, b evidenceJSON) int { return strings.Compare(a.SHA256, b.SHA256) })
	files = slices.CompactFunc(files, func(a, b evidenceJSON) bool { return a.SHA256 == b.SHA256 })
	i, err := desk.Pick("hash", hash, files, func(f evidenceJSON) []string { return []string{f.SHA256} })
	if err != nil {
		return err
	}
	sum := files[i].SHA256
	if to == "" {
		return wrong("feedproof evidence "+desk.Quoted(carName)+" "+hash+" --to FILE", "--to: which file shall it become")
	}
	in, err := s.Store().OpenEvidence(sum)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(s.path(to), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return failed("another name after --to", "%s: is there already", to)
	}
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	if err = errors.Join(err, out.Close()); err != nil {
		return errors.Join(err, os.Remove(s.path(to)))
	}
	s.Say("%s: %s", to, strings.TrimPrefix(files[i].Fact, "evidence: "))
	return nil
}
