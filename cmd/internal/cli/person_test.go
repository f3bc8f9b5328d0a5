package cli

import (
	"os"
	"path/filepath"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/cmd/internal/terminal"
	"feedproof/records/signature"
)

func TestPersonAddOptions(t *testing.T) {
	usual := []string{"technician"}
	fills(t, newPersonAddCommand,
		line[personAddOptions]{args: "tech-2|--name|Kim Ash", want: personAddOptions{person: "tech-2", name: "Kim Ash", roles: usual}},
		line[personAddOptions]{args: "tech-2|--name|Kim Ash|--initials|KA|--role|lead,tuner|--public|kim.pub|--passphrase",
			want: personAddOptions{person: "tech-2", name: "Kim Ash", initials: "KA", roles: []string{"lead", "tuner"}, key: keyOptions{public: "kim.pub", passphrase: true}}},
		line[personAddOptions]{args: "tech-2|Kim", fault: "Kim: is one word too many"},
	)
}

func TestRunPersonAdd(t *testing.T) {
	dir, away := desktest.Shop(t), t.TempDir()
	run := typedIn(away, runPersonAdd)
	kim := personAddOptions{person: "tech-2", name: "Kim Ash", roles: []string{"fuel-tech"}}
	says(t, dir, "lead-1", run, kim, "person tech-2 (Kim Ash): fuel technician, key SHA256:")
	refuses(t, dir, "lead-1", run, kim, desk.Failed, "person tech-2: is in the roster already")
	key, err := signature.WriteKey(filepath.Join(away, "lou"), "tech-3", nil)
	if err != nil {
		t.Fatal(err)
	}
	answers(t, dir, "lead-1", run, personAddOptions{person: "tech-3", name: "Lou Fenn", roles: []string{"tuner"}, key: keyOptions{public: signature.KeyLine(key.PublicKey())}}, "record", "id", "facts")
	refuses(t, dir, "lead-1", run, personAddOptions{person: "tech-4"}, desk.Usage, "--name: is missing")
	refuses(t, dir, "lead-1", run, personAddOptions{person: "tech-4", name: "Jo Lind", roles: []string{"chef"}}, desk.Usage, `--role: "chef" is not one of`)
	refuses(t, dir, "lead-1", run, personAddOptions{person: "jo lind", name: "Jo Lind"}, desk.Usage, `person "jo lind": is not an id`)
	refuses(t, dir, "tech-1", run, personAddOptions{person: "tech-4", name: "Jo Lind", roles: []string{"lead"}}, desk.Refused, "may not write a person")
	if _, err := os.Stat(filepath.Join(dir, "keys", "tech-4")); err == nil {
		t.Error("who may not add a person made a key")
	}
}

// A key that came to nothing is taken back: the next try makes it anew.
func TestPersonAddTakesTheKeyBack(t *testing.T) {
	dir := desktest.Shop(t)
	keys := filepath.Join(dir, "keys")
	run := typedIn(t.TempDir(), runPersonAdd)
	kim := personAddOptions{person: "tech-2", name: "Kim Ash", roles: []string{"tuner"}}
	rename := func(from, to string) {
		if err := os.Rename(filepath.Join(keys, from), filepath.Join(keys, to)); err != nil {
			t.Fatal(err)
		}
	}
	rename("lead-1", "elsewhere")
	refuses(t, dir, "lead-1", run, kim, desk.Failed, "person lead-1: has no key on this machine")
	if _, err := os.Stat(filepath.Join(keys, "tech-2")); err == nil {
		t.Error("the key of nobody is left")
	}
	rename("elsewhere", "lead-1")
	says(t, dir, "lead-1", run, kim, "person tech-2 (Kim Ash): tuner")
}

func TestPersonListOptions(t *testing.T) {
	fills(t, newPersonListCommand, line[noOptions]{args: "all", fault: "all: is one word too many"})
}

func TestRunPersonList(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "tech-1", runPersonList, noOptions{}, "lead-1\tRV\tRobin Vale\tlead\tactive\tSHA256:", "tech-1\tSR\tSam Reed\tfuel technician\tactive\tSHA256:")
	people := listed(t, dir, "tech-1", runPersonList, noOptions{})
	if len(people) != 2 {
		t.Errorf("%d people, want 2", len(people))
	}
	text, err := shown(t, dir, "tech-1", runPersonList, noOptions{}, terminal.Options{Reader: true})
	if err != nil || len(text) == 0 {
		t.Errorf("%v: a person reads %q", err, text)
	}
}

func TestPersonKeyOptions(t *testing.T) {
	fills(t, newPersonKeyCommand,
		line[personKeyOptions]{args: "tech-1", want: personKeyOptions{person: "tech-1"}},
		line[personKeyOptions]{args: "SR|--public|sam.pub|--passphrase", want: personKeyOptions{person: "SR", key: keyOptions{public: "sam.pub", passphrase: true}}},
		line[personKeyOptions]{args: "tech-1|--public", fault: "--public"},
	)
}

func TestRunPersonKey(t *testing.T) {
	dir, away := desktest.Shop(t), t.TempDir()
	key, err := signature.WriteKey(filepath.Join(away, "sam"), "tech-1", nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(away, "sam.pub"), []byte(signature.KeyLine(key.PublicKey())+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	run := typedIn(away, runPersonKey)
	sam := personKeyOptions{person: "SR", key: keyOptions{public: "sam.pub"}}
	refuses(t, dir, "tech-1", run, sam, desk.Refused, "may not write a key")
	says(t, dir, "lead-1", run, sam, "person tech-1: has another key")
	says(t, dir, "tech-1", runPersonList, noOptions{}, signature.Fingerprint(key.PublicKey()))
	refuses(t, dir, "lead-1", run, personKeyOptions{person: "tech-9"}, desk.Usage, "person tech-9: is not in this shop")
}

func TestPersonRevokeOptions(t *testing.T) {
	fills(t, newPersonRevokeCommand,
		line[personRevokeOptions]{args: "tech-1", want: personRevokeOptions{person: "tech-1"}},
		line[personRevokeOptions]{args: "tech-1|--why|left the shop", want: personRevokeOptions{person: "tech-1", why: "left the shop"}},
		line[personRevokeOptions]{args: "tech-1|left", fault: "left: is one word too many"},
	)
}

func TestRunPersonRevoke(t *testing.T) {
	dir := desktest.Shop(t)
	left := personRevokeOptions{person: "tech-1", why: "left the shop"}
	refuses(t, dir, "lead-1", runPersonRevoke, personRevokeOptions{person: "tech-1"}, desk.Usage, "--why: is missing")
	refuses(t, dir, "tech-1", runPersonRevoke, left, desk.Refused, "may not write a key")
	says(t, dir, "lead-1", runPersonRevoke, left, "person tech-1: 1 key(s) revoked")
	refuses(t, dir, "lead-1", runPersonRevoke, left, desk.Failed, "person tech-1: has no key that counts")
	says(t, dir, "lead-1", runPersonList, noOptions{}, "tech-1\tSR\tSam Reed\tfuel technician\tno key counts\t")
}
