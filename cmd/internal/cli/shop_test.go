package cli

import (
	"os"
	"path/filepath"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/records"
)

func TestShopNewOptions(t *testing.T) {
	fills(t, newShopNewCommand,
		line[shopNewOptions]{args: "ourshop|--lead|Robin Vale", want: shopNewOptions{dir: "ourshop", lead: "Robin Vale"}},
		line[shopNewOptions]{args: "ourshop|--lead|Robin Vale|--id|lead-1|--device|bench-1|--bay|2|--passphrase",
			want: shopNewOptions{dir: "ourshop", lead: "Robin Vale", id: "lead-1", device: "bench-1", bay: "2", passphrase: true}},
		line[shopNewOptions]{args: "our|shop", fault: "shop: is one word too many"},
		line[shopNewOptions]{args: "ourshop|--bay", fault: "--bay"},
	)
}

func TestRunShopNew(t *testing.T) {
	dir, any := t.TempDir(), desktest.Shop(t)
	run := shopless(dir, runShopNew)
	says(t, any, "lead-1", run, shopNewOptions{dir: "one", lead: "Robin Vale", device: "bench-1"}, "shop made in "+filepath.Join(dir, "one"), "lead robin-vale (Robin Vale), key SHA256:", "private keys stay in ")
	answers(t, any, "lead-1", run, shopNewOptions{dir: "two", lead: "Robin Vale", id: "lead-1"}, "shop", "lead", "key", "device")
	made, err := records.Open(filepath.Join(dir, "one"))
	if err != nil || made.Device().Name != "bench-1" {
		t.Errorf("%v: want a shop on bench-1", err)
	}
	refuses(t, any, "lead-1", run, shopNewOptions{dir: "one", lead: "Robin Vale"}, desk.Failed, "is a shop already")
	refuses(t, any, "lead-1", run, shopNewOptions{dir: "three"}, desk.Usage, "--lead: a shop needs a lead")
	refuses(t, any, "lead-1", run, shopNewOptions{dir: "three", lead: "Robin Vale", id: "a b"}, desk.Usage, `"a b" or `)
	if _, err := os.Stat(filepath.Join(dir, "three")); err == nil {
		t.Error("a refused shop left a folder")
	}
}
