package cli

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"feedproof/cmd/internal/desk"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

func (a *app) verifyCommand() *cobra.Command {
	var export, code string
	c := &cobra.Command{
		Use: "verify [CAR]", Short: "prove the history: only added to, signed by who may", Args: cobra.MaximumNArgs(1),
		Example: "  feedproof verify\n  feedproof verify kestrel --code 1f5a-68a8-b78b-2913\n  feedproof verify kestrel --export proof",
		Long:    "Walk the whole history and prove that entries were only ever added, by people\nwho may, each commit signed. --export DIR CAR also writes the last sign-off's\nstatement, signature and the allowed signers, so that OpenSSH and git can check\nthem without this program.",
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			if err := s.verify(); err != nil || export == "" && code == "" {
				return err
			}
			if code != "" {
				return checkCode(s.Desk, s.Screen, strings.Join(args, " "), code)
			}
			if len(args) == 0 {
				return wrong("feedproof verify --export "+export+" CAR", "--export: of which car")
			}
			return s.export(a.path(export), args[0])
		},
	}
	c.Flags().StringVar(&code, "code", "", "code at the foot of a sheet of CAR: which state of the record it was made from")
	c.Flags().StringVar(&export, "export", "", "folder for the statement, its signature and the allowed signers")
	return c
}

func (s *session) verify() error {
	report, err := s.Store().Verify(s.asking.Context(), s.Progress("checking commit"))
	if err != nil {
		return err
	}
	if s.flags.json {
		return s.JSON(report)
	}
	s.Say("history verifies: %s, %s, %s and %s", desk.Plural(report.Commits, "commit"), desk.Plural(report.Records, "record"), desk.Plural(report.Entries, "entry"), desk.Plural(report.SignOffs, "sign-off"))
	s.Say("entries were only ever added; every commit is signed by a person who may")
	if report.Evidence > 0 {
		s.Say("%s of evidence, each with the bytes of its hash", desk.Plural(report.Evidence, "file"))
	}
	for _, m := range report.Missing {
		s.Warn("entry %s in %s: its file is not in this shop (SHA-256 %s): attach it again if it still exists", m.Entry, m.Path, m.SHA256)
	}
	s.Say("head %s, first key %s", report.Head, report.Pinned)
	return nil
}

// Files of an exported sign-off.
const (
	statementFile = "statement.json"
	signatureFile = "statement.json.sig"
	signersFile   = "allowed_signers"
)

func (s *session) export(dir, carName string) error {
	v, err := s.Car(carName)
	if err != nil {
		return err
	}
	e, ok := lastSignOff(v.Record)
	if !ok {
		return failed("feedproof signoff "+desk.Quoted(v.Data.Name), "%s: is not signed off", v.Data.Name)
	}
	data, err := schema.Into[schema.SignOffData](e)
	if err != nil {
		return err
	}
	statement, err := statementBytes(e)
	if err != nil {
		return err
	}
	roster, err := s.Roster()
	if err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	for name, content := range map[string][]byte{statementFile: statement, signatureFile: []byte(data.Signature), signersFile: []byte(roster.AllowedSigners())} {
		if err := os.WriteFile(filepath.Join(dir, name), content, 0o644); err != nil {
			return err
		}
	}
	if s.flags.json {
		return nil
	}
	s.Say("written to %s; check it without this program:", dir)
	fmt.Fprintf(s.Screen.Out, "  ssh-keygen -Y verify -f %s -I %s -n feedproof -s %s < %s\n", signersFile, data.Statement.Person, signatureFile, statementFile)
	fmt.Fprintf(s.Screen.Out, "  git -C %s -c gpg.ssh.allowedSignersFile=%s verify-commit main\n", filepath.Join(s.Store().Dir(), "shop.git"), filepath.Join(dir, signersFile))
	return nil
}

func lastSignOff(r schema.Record) (schema.Entry, bool) {
	for i := len(r.Entries) - 1; i >= 0; i-- {
		if r.Entries[i].Kind == (schema.SignOffData{}).EntryKind() {
			return r.Entries[i], true
		}
	}
	return schema.Entry{}, false
}

// statementBytes is exactly what was signed.
func statementBytes(e schema.Entry) ([]byte, error) {
	var raw struct {
		Statement json.RawMessage `json:"statement"`
	}
	if err := json.Unmarshal(e.Data, &raw); err != nil {
		return nil, err
	}
	return schema.Canonical(raw.Statement)
}
