package cli

import (
	"bytes"
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
	if got := listed(t, dir, "tech-1", run, attachOptions{car: "kestrel", files: []string{"photos/hose.jpg"}, original: true}); len(got) != 1 {
		t.Errorf("%d facts of one file", len(got))
	}
	refuses(t, dir, "tech-1", run, attachOptions{car: "kestrel", files: []string{"photos/none.jpg"}}, desk.Failed, "photos/none.jpg: cannot be read")
	refuses(t, dir, "tech-1", run, attachOptions{car: "kestrel", files: []string{"photos/hose.jpg"}, step: "Z99"}, desk.Usage, "step Z99: ")
	write(t, filepath.Join(away, "cut.jpg"), []byte("\xff\xd8\xff and no more of it"))
	refuses(t, dir, "tech-1", run, attachOptions{car: "kestrel", files: []string{"cut.jpg"}}, desk.Failed, "cut.jpg: photo: cannot be read")
	write(t, filepath.Join(away, "three.jpg"), []byte("abc"))
	refuses(t, dir, "tech-1", run, attachOptions{car: "kestrel", files: []string{"three.jpg"}}, desk.Failed, "three.jpg: is no image/jpeg")
	for _, name := range []string{"tech-1", "notes.txt"} {
		key, err := os.ReadFile(filepath.Join(dir, "keys", "tech-1"))
		if err != nil {
			t.Fatal(err)
		}
		write(t, filepath.Join(away, name), append([]byte("as it lay here\n"), key...))
		refuses(t, dir, "tech-1", run, attachOptions{car: "kestrel", files: []string{name}}, desk.Refused, name+": holds a private key")
	}
	write(t, filepath.Join(away, "film.mp4"), make([]byte, 60<<20))
	refuses(t, dir, "tech-1", run, attachOptions{car: "kestrel", files: []string{"film.mp4"}}, desk.Failed, "film.mp4: is 60 MB, more than 32")
	refuses(t, dir, "tech-1", run, attachOptions{car: "osprey", files: []string{"photos/hose.jpg"}}, desk.Usage, "car osprey: is not in this shop")
}
