package cli

import (
	"bytes"
	"encoding/json"
	"image"
	"image/jpeg"
	"os"
	"path/filepath"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
)

func TestAttachOptions(t *testing.T) {
	fills(t, newAttachCommand,
		line[attachOptions]{args: "kestrel|a.jpg|b.pdf", want: attachOptions{car: "kestrel", files: []string{"a.jpg", "b.pdf"}}},
		line[attachOptions]{args: "kestrel|a.jpg|--step|D2|--note|hose in the tank|--original|--at|08:30", want: attachOptions{car: "kestrel", files: []string{"a.jpg"}, step: "D2", note: "hose in the tank", original: true, at: "08:30"}},
		line[attachOptions]{args: "kestrel", fault: "FILE: is missing"},
	)
}

// shoot writes a photo of nothing.
func shoot(t *testing.T, path string) {
	t.Helper()
	var photo bytes.Buffer
	if err := jpeg.Encode(&photo, image.NewGray(image.Rect(0, 0, 8, 8)), nil); err != nil {
		t.Fatal(err)
	}
	write(t, path, photo.Bytes())
}

func write(t *testing.T, path string, content []byte) {
	t.Helper()
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
}

func TestRunAttach(t *testing.T) {
	dir, away := desktest.Shop(t), t.TempDir()
	run := typedIn(away, runAttach)
	photos := filepath.Join(away, "photos")
	if err := os.MkdirAll(filepath.Join(photos, "deeper"), 0o755); err != nil {
		t.Fatal(err)
	}
	refuses(t, dir, "tech-1", run, attachOptions{car: "kestrel", files: []string{"photos"}}, desk.Failed, "photos: has no file in it")
	shoot(t, filepath.Join(photos, "hose.jpg"))
	write(t, filepath.Join(photos, "list.csv"), []byte("a,b\n"))
	write(t, filepath.Join(photos, ".hidden"), []byte("x"))
	says(t, dir, "tech-1", run, attachOptions{car: "kestrel", files: []string{"photos"}, step: "d2", note: "hose in the tank"}, "kestrel #3 by tech-1: evidence: hose in the tank, hose.jpg", "kestrel #4 by tech-1: evidence: hose in the tank, list.csv")
	answers(t, dir, "tech-1", run, attachOptions{car: "kestrel", files: []string{"photos/hose.jpg"}, original: true}, "vehicle", "entry", "fact")
	refuses(t, dir, "tech-1", run, attachOptions{car: "kestrel", files: []string{"photos/none.jpg"}}, desk.Failed, "photos/none.jpg: cannot be read")
	refuses(t, dir, "tech-1", run, attachOptions{car: "kestrel", files: []string{"photos/hose.jpg"}, step: "Z99"}, desk.Usage, "step Z99: ")
	write(t, filepath.Join(away, "cut.jpg"), []byte("\xff\xd8\xff and no more of it"))
	refuses(t, dir, "tech-1", run, attachOptions{car: "kestrel", files: []string{"cut.jpg"}}, desk.Failed, "cut.jpg: photo: cannot be read")
	refuses(t, dir, "tech-1", run, attachOptions{car: "osprey", files: []string{"photos/hose.jpg"}}, desk.Usage, "car osprey: is not in this shop")
}

func TestEvidenceOptions(t *testing.T) {
	fills(t, newEvidenceCommand,
		line[evidenceOptions]{args: "kestrel", want: evidenceOptions{car: "kestrel"}},
		line[evidenceOptions]{args: "kestrel|9ab23d|--to|clip.jpg", want: evidenceOptions{car: "kestrel", one: true, hash: "9ab23d", to: "clip.jpg"}},
		line[evidenceOptions]{args: "--to|clip.jpg", fault: "CAR: is missing"},
	)
}

func TestRunEvidence(t *testing.T) {
	dir, away := desktest.Shop(t), t.TempDir()
	run := typedIn(away, runEvidence)
	says(t, dir, "tech-1", run, evidenceOptions{car: "kestrel"}, "no files: feedproof attach kestrel FILE ...")
	shoot(t, filepath.Join(away, "hose.jpg"))
	says(t, dir, "tech-1", typedIn(away, runAttach), attachOptions{car: "kestrel", files: []string{"hose.jpg"}, original: true}, "kestrel #3")
	says(t, dir, "tech-1", run, evidenceOptions{car: "kestrel"}, "\t2026-03-02T09:00:00Z\ttech-1\tevidence: hose.jpg", "original\n")
	files := listed(t, dir, "tech-1", run, evidenceOptions{car: "kestrel"})
	var original desk.Evidence
	if err := json.Unmarshal(files[len(files)-1], &original); err != nil || len(files) != 2 || !original.Original || !original.Kept {
		t.Fatalf("%v: %d files, the last %+v, want the working copy and the original", err, len(files), original)
	}
	says(t, dir, "tech-1", run, evidenceOptions{car: "kestrel", one: true, hash: original.SHA256[:12], to: "back.jpg"}, "back.jpg: hose.jpg")
	sent, err := os.ReadFile(filepath.Join(away, "hose.jpg"))
	back, errBack := os.ReadFile(filepath.Join(away, "back.jpg"))
	if err != nil || errBack != nil || !bytes.Equal(sent, back) {
		t.Errorf("%v, %v: the original came back as %d bytes, want %d", err, errBack, len(back), len(sent))
	}
	refuses(t, dir, "tech-1", run, evidenceOptions{car: "kestrel", one: true, hash: original.SHA256, to: "back.jpg"}, desk.Failed, "back.jpg: is there already")
	refuses(t, dir, "tech-1", run, evidenceOptions{car: "kestrel", one: true, hash: original.SHA256}, desk.Usage, "--to: which file shall it become")
	refuses(t, dir, "tech-1", run, evidenceOptions{car: "kestrel", one: true, hash: "zz", to: "x"}, desk.Usage, "hash zz: is not in this shop")
}
