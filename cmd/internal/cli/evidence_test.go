package cli

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
)

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
