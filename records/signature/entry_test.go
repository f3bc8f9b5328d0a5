package signature

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/ed25519"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"feedproof/schema"

	"golang.org/x/crypto/ssh"
	"pgregory.net/rapid"
)

func ecdsaSigner(t testing.TB, curve elliptic.Curve) ssh.Signer {
	t.Helper()
	private, err := ecdsa.GenerateKey(curve, rand.Reader)
	must(t, err)
	key, err := ssh.NewSignerFromKey(private)
	must(t, err)
	return key
}

// openSSHTakes asks ssh-keygen about the signature in its long form.
func openSSHTakes(t testing.TB, message []byte, sig string, key ssh.PublicKey) (string, bool) {
	t.Helper()
	armored, err := ArmorEntry(sig, key)
	must(t, err)
	dir := t.TempDir()
	must(t, os.WriteFile(filepath.Join(dir, "sig"), armored, 0o600))
	must(t, os.WriteFile(filepath.Join(dir, "allowed"), []byte("tech-1 "+KeyLine(key)+"\n"), 0o600))
	out, err := run(t, string(message), "ssh-keygen", "-Y", "verify", "-f", filepath.Join(dir, "allowed"), "-I", "tech-1", "-n", string(Entry), "-s", filepath.Join(dir, "sig"))
	return out, err == nil
}

// The outside judge is OpenSSH: nothing is lost in the short form.
func TestOpenSSHAcceptsAnEntry(t *testing.T) {
	for name, key := range map[string]ssh.Signer{
		"ed25519": newSigner(t), "ecdsa 256": ecdsaSigner(t, elliptic.P256()), "ecdsa 384": ecdsaSigner(t, elliptic.P384()), "ecdsa 521": ecdsaSigner(t, elliptic.P521()),
	} {
		for n := range 8 { // ecdsa is by chance: numbers of other lengths come up
			message := []byte(strings.Repeat("feedproof entry 1\n", n+1))
			sig, err := SignEntry(message, key)
			must(t, err)
			must(t, CheckEntry(message, sig, key.PublicKey()))
			if out, ok := openSSHTakes(t, message, sig, key.PublicKey()); !ok {
				t.Errorf("%s: ssh-keygen says %s", name, out)
			}
			if _, ok := openSSHTakes(t, append(message, '.'), sig, key.PublicKey()); ok {
				t.Errorf("%s: ssh-keygen takes it for another message: the test does not test", name)
			}
			if CheckEntry(append(message, '.'), sig, key.PublicKey()) == nil || CheckEntry(message, sig, newSigner(t).PublicKey()) == nil {
				t.Errorf("%s: another message or key passes", name)
			}
		}
	}
}

// One entry has one form: what verifies as well in other bytes is refused.
func TestSignatureHasOneForm(t *testing.T) {
	message := []byte("feedproof entry 1\n")
	key := ecdsaSigner(t, elliptic.P256())
	sig, err := SignEntry(message, key)
	must(t, err)
	blob, err := base64.RawStdEncoding.DecodeString(sig)
	must(t, err)
	var numbers struct{ R, S *big.Int }
	must(t, ssh.Unmarshal(blob, &numbers))
	high := numbers
	high.S = new(big.Int).Sub(elliptic.P256().Params().N, numbers.S)
	if err := key.PublicKey().Verify(frame(message), &ssh.Signature{Format: key.PublicKey().Type(), Blob: ssh.Marshal(high)}); err != nil {
		t.Fatal("the high s does not verify: the test does not test")
	}
	padded := ssh.Marshal(struct{ R, S []byte }{append([]byte{0, 0}, numbers.R.Bytes()...), numbers.S.Bytes()})
	for name, other := range map[string]string{
		"high s": base64.RawStdEncoding.EncodeToString(ssh.Marshal(high)), "zeros before a number": base64.RawStdEncoding.EncodeToString(padded),
		"bytes behind": base64.RawStdEncoding.EncodeToString(append(bytes.Clone(blob), 0)), "padding": base64.StdEncoding.EncodeToString(append(bytes.Clone(blob), 0)) + "=",
		"line end": sig + "\n", "space": " " + sig, "cut": sig[:len(sig)-4], "nothing": "", "url alphabet": strings.NewReplacer("+", "-", "/", "_").Replace(sig) + "-",
	} {
		if CheckEntry(message, other, key.PublicKey()) == nil {
			t.Errorf("%s: accepted", name)
		}
	}
	ed := newSigner(t)
	sig, err = SignEntry(message, ed)
	must(t, err)
	const alphabet = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"
	last := strings.IndexByte(alphabet, sig[len(sig)-1])
	loose := sig[:len(sig)-1] + string(alphabet[last|1]) // the last letter of 86 carries four bits that say nothing
	if CheckEntry(message, loose, ed.PublicKey()) == nil {
		t.Error("loose bits at the end: accepted")
	}
	if CheckEntry(message, sig+"AAAA", ed.PublicKey()) == nil {
		t.Error("bytes behind: accepted")
	}
}

// A signature of a security key is put together here as PROTOCOL.u2f of OpenSSH says, and read.
func TestSecurityKeySignsAnEntry(t *testing.T) {
	message := []byte("feedproof entry 1\n")
	public, sign := securityKey(t)
	sig := sign(frame(message), 1)
	must(t, CheckEntry(message, sig, public))
	if out, ok := openSSHTakes(t, message, sig, public); !ok {
		t.Errorf("ssh-keygen says %s", out)
	}
	for name, other := range map[string]string{"without the touch": sign(frame(message), 0), "short": "AAAA", "empty": ""} {
		if CheckEntry(message, other, public) == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}

// Each line of the frozen examples is signed by a key in their shop, for whoever reads them with OpenSSH alone.
func TestOpenSSHAcceptsTheExamples(t *testing.T) {
	read := func(kind schema.RecordKind) schema.Record {
		text, err := os.ReadFile("../../testdata/formats/v1/" + string(kind) + ".json")
		must(t, err)
		r, err := schema.DecodeRecord(text)
		must(t, err)
		return r
	}
	shop := read(schema.ShopRecord)
	var first schema.PersonData
	must(t, json.Unmarshal(shop.Entries[0].Data, &first))
	founder, err := ParseKey(first.Key)
	must(t, err)
	checked := 0
	for _, kind := range schema.RecordKinds {
		r := read(kind)
		hashes := schema.HashesOf(r.Of(Fingerprint(founder)), r.Entries)
		for _, e := range r.Entries {
			message, err := hashes.Sign(e)
			must(t, err)
			m, _ := NewRoster(shop).Member(e.By)
			good := false
			for _, k := range m.Keys {
				if CheckEntry(message, e.Sig, k.Public) == nil {
					_, good = openSSHTakes(t, message, e.Sig, k.Public)
				}
			}
			if !good {
				t.Errorf("%s: entry %s is not signed by %s", kind, e.ID, e.By)
			}
			checked++
		}
	}
	if checked < 60 {
		t.Errorf("%d entries checked", checked)
	}
}

func FuzzCheckEntry(f *testing.F) {
	message := []byte("feedproof entry 1\n")
	keys := []ssh.Signer{newSigner(f), ecdsaSigner(f, elliptic.P256())}
	var own []string
	for _, key := range keys {
		sig, err := SignEntry(message, key)
		must(f, err)
		own = append(own, sig)
		f.Add(sig)
	}
	f.Add("")
	f.Add("AAAAIQ")
	f.Fuzz(func(t *testing.T, sig string) {
		for i, key := range keys {
			if CheckEntry(message, sig, key.PublicKey()) == nil && sig != own[i] {
				t.Errorf("another signature than its own passes: %q", sig)
			}
		}
	})
}

func TestAnyKeySignsAnyMessage(t *testing.T) {
	keys := []ssh.Signer{newSigner(t), ecdsaSigner(t, elliptic.P256()), ecdsaSigner(t, elliptic.P521())}
	rapid.Check(t, func(t *rapid.T) {
		message := rapid.SliceOf(rapid.Byte()).Draw(t, "message")
		key := rapid.SampledFrom(keys).Draw(t, "key")
		sig, err := SignEntry(message, key)
		if err != nil {
			t.Fatal(err)
		}
		if err := CheckEntry(message, sig, key.PublicKey()); err != nil {
			t.Fatal(err)
		}
		at := rapid.IntRange(0, len(sig)-1).Draw(t, "place")
		other := sig[:at] + rapid.SampledFrom([]string{"A", "b", "7", "/", "="}).Draw(t, "letter") + sig[at+1:]
		if other != sig && CheckEntry(message, other, key.PublicKey()) == nil {
			t.Fatalf("%q passes beside %q", other, sig)
		}
	})
}

// securityKey is an ed25519 key on a security key that asks for a touch: its signatures are over the application, flags, counter and the
// hash of the message.
func securityKey(t testing.TB) (ssh.PublicKey, func(message []byte, flags byte) string) {
	t.Helper()
	public, private, err := ed25519.GenerateKey(rand.Reader)
	must(t, err)
	const application = "ssh:"
	key, err := ssh.ParsePublicKey(ssh.Marshal(struct {
		Name        string
		Key         []byte
		Application string
	}{ssh.KeyAlgoSKED25519, public, application}))
	must(t, err)
	return key, func(message []byte, flags byte) string {
		app, hash := sha256.Sum256([]byte(application)), sha256.Sum256(message)
		rest := []byte{flags, 0, 0, 0, 7}
		blob := ed25519.Sign(private, slices.Concat(app[:], rest, hash[:]))
		return base64.RawStdEncoding.EncodeToString(slices.Concat(blob, rest))
	}
}
