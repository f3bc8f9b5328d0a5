package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/terminal"
	"feedproof/records"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// verifyOptions are what is proved beside the history.
type verifyOptions struct {
	car    string
	code   string // at the foot of a sheet
	export string // folder for the last sign-off
}

func newVerifyCommand(run func(context.Context, verifyOptions) error) *cobra.Command {
	var o verifyOptions
	c := &cobra.Command{
		Use: "verify [CAR]", Short: "prove the history: only added to, signed by who may", Args: asUsed,
		Example: "  feedproof verify\n  feedproof verify kestrel --code 1f5a-68a8-b78b-2913\n  feedproof verify kestrel --export proof",
		Long:    "Walk the whole history and prove that entries were only ever added, by people\nwho may, each commit and each entry signed. --export DIR CAR also writes the\ncar's entries as they were signed, the last sign-off's statement, and the\nallowed signers, so that OpenSSH and git can check them without this program.",
		RunE: func(c *cobra.Command, args []string) error {
			o.car = strings.Join(args, " ")
			return run(c.Context(), o)
		},
	}
	c.Flags().StringVar(&o.code, "code", "", "code at the foot of a sheet of CAR: which state of the record it was made from")
	c.Flags().StringVar(&o.export, "export", "", "folder for the statement, its signature and the allowed signers")
	return c
}

func runVerify(ctx context.Context, d *desk.Desk, out *terminal.Screen, in folder, o verifyOptions) error {
	report, err := d.Store().Verify(ctx, out.Progress("checking commit"))
	if err != nil {
		return err
	}
	if o.code == "" || !out.AsJSON() {
		if err := showProven(out, report); err != nil {
			return err
		}
	}
	switch {
	case o.code != "":
		return checkCode(d, out, o.car, o.code)
	case o.export != "" && o.car == "":
		return wrong("feedproof verify --export "+o.export+" CAR", "--export: of which car")
	case o.export != "":
		return exportProof(d, out, in.path(o.export), o.car)
	}
	return nil
}

func showProven(out *terminal.Screen, report records.VerifyReport) error {
	if out.AsJSON() {
		return out.JSON(report)
	}
	out.Say("history verifies: %s, %s, %s and %s", desk.Plural(report.Commits, "commit"), desk.Plural(report.Records, "record"), desk.Plural(report.Entries, "entry"), desk.Plural(report.SignOffs, "sign-off"))
	out.Say("entries were only ever added; every commit is signed by a person who may, every entry by its author")
	for _, f := range report.Forks {
		out.Warn("entry %s in %s: %s had not seen what it wrote before, as after a restored backup or from a copied folder: both lines stand", f.Entry, f.Path, f.Device)
	}
	if report.Evidence > 0 {
		out.Say("%s of evidence, each with the bytes of its hash", desk.Plural(report.Evidence, "file"))
	}
	for _, m := range report.Missing {
		out.Warn("entry %s in %s: its file is not in this shop (SHA-256 %s): attach it again if it still exists", m.Entry, m.Path, m.SHA256)
	}
	out.Say("head %s, first key %s", report.Head, report.Pinned)
	return nil
}

// Files of an exported sign-off.
const (
	statementFile = "statement.json"
	signatureFile = "statement.json.sig"
	signersFile   = "allowed_signers"
	entriesFile   = "entries.txt" // id and author of each entry, a line
	entriesDir    = "entries"     // of each entry, what its author signed, and the signature
)

func exportProof(d *desk.Desk, out *terminal.Screen, dir, car string) error {
	c, err := d.Car(car)
	if err != nil {
		return err
	}
	proof, err := d.Proof(c)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	for name, content := range map[string][]byte{statementFile: proof.Statement, signatureFile: proof.Signature, signersFile: proof.Signers} {
		if err := os.WriteFile(filepath.Join(dir, name), content, 0o644); err != nil {
			return err
		}
	}
	if err := exportEntries(d, dir, c.ID); err != nil {
		return err
	}
	if out.AsJSON() {
		return nil
	}
	out.Say("written to %s; check it without this program:", dir)
	fmt.Fprintf(out.Out, "  ssh-keygen -Y verify -f %s -I %s -n feedproof -s %s < %s\n", signersFile, proof.Person, signatureFile, statementFile)
	fmt.Fprintf(out.Out, "  while read id by; do ssh-keygen -Y verify -f %s -I $by -n feedproof.entry -s %s/$id.sig < %s/$id; done < %s\n", signersFile, entriesDir, entriesDir, entriesFile)
	fmt.Fprintf(out.Out, "  git -C %s -c gpg.ssh.allowedSignersFile=%s verify-commit main\n", filepath.Join(d.Store().Dir(), "shop.git"), filepath.Join(dir, signersFile))
	return nil
}

// exportEntries writes each entry as its author signed it. The message of one
// holds the hashes of those that it saw, so a changed file breaks all after it.
func exportEntries(d *desk.Desk, dir, car string) error {
	view, err := d.View()
	if err != nil {
		return err
	}
	all, err := view.Signed(schema.VehicleRecord, car)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Join(dir, entriesDir), 0o755); err != nil {
		return err
	}
	var list strings.Builder
	for _, e := range all {
		fmt.Fprintf(&list, "%s %s\n", e.Entry.ID, e.Entry.By)
		file := filepath.Join(dir, entriesDir, e.Entry.ID)
		if err := errors.Join(os.WriteFile(file, e.Message, 0o644), os.WriteFile(file+".sig", e.Armored, 0o644)); err != nil {
			return err
		}
	}
	return os.WriteFile(filepath.Join(dir, entriesFile), []byte(list.String()), 0o644)
}
