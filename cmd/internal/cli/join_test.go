package cli

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/records"
	"feedproof/records/signature"

	"golang.org/x/crypto/ssh"
)

func TestShopJoinOptions(t *testing.T) {
	fills(t, newShopJoinCommand,
		line[shopJoinOptions]{args: "stick|two", want: shopJoinOptions{remote: "stick", dir: "two"}},
		line[shopJoinOptions]{args: "stick|two|--fingerprint|SHA256:AA|--person|sam|--name|Sam Reed|--public|sam.pub|--device|bay-2|--bay|2|--passphrase",
			want: shopJoinOptions{remote: "stick", dir: "two", fingerprint: "SHA256:AA", person: "sam", name: "Sam Reed", public: "sam.pub", device: "bay-2", bay: "2", passphrase: true}},
		line[shopJoinOptions]{args: "stick", fault: "DIR: is missing"},
	)
}

func TestRunShopJoin(t *testing.T) {
	dir, away := desktest.Shop(t), t.TempDir()
	d, stick := desktest.At(t, dir, "lead-1"), filepath.Join(away, "stick")
	if err := os.Mkdir(stick, 0o755); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Sync(context.Background(), stick, records.SyncOptions{Now: d.Now, By: "lead-1", Key: func() (ssh.Signer, error) { return d.Key("lead-1") }}); err != nil {
		t.Fatal(err)
	}
	key, err := d.Key("lead-1")
	if err != nil {
		t.Fatal(err)
	}
	print := signature.Fingerprint(key.PublicKey())
	run := shopless(away, runShopJoin)
	refuses(t, dir, "lead-1", run, shopJoinOptions{remote: "stick", dir: "two"}, desk.Usage, "the shop there begins with key "+print+" of lead-1 (Robin Vale); nothing was made")
	refuses(t, dir, "lead-1", run, shopJoinOptions{remote: "stick", dir: "two", fingerprint: print, person: "a b"}, desk.Usage, `"a b" is not an id`)
	if _, err := os.Stat(filepath.Join(away, "two")); err == nil {
		t.Error("a refused join left a folder")
	}
	says(t, dir, "lead-1", run, shopJoinOptions{remote: "stick", dir: "two", fingerprint: print, person: "tech-2", name: "Kim Ash"},
		"joined the shop that begins with key "+print, "tech-2 cannot sign yet", `feedproof person add tech-2 --name "Kim Ash" --role "technician" --public "ssh-ed25519 `, "compare the fingerprint there: SHA256:")
	says(t, dir, "lead-1", run, shopJoinOptions{remote: "stick", dir: "three", fingerprint: print, person: "tech-1"}, `feedproof person key tech-1 --public "ssh-ed25519 `)
	answers(t, dir, "lead-1", run, shopJoinOptions{remote: "stick", dir: "four", fingerprint: print}, "remote", "came", "head")
}
