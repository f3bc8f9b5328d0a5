package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
)

func TestSheetOptions(t *testing.T) {
	fills(t, newSheetCommand,
		line[sheetOptions]{args: "kestrel", want: sheetOptions{car: "kestrel", reader: "customer"}},
		line[sheetOptions]{args: "kestrel|--for|lead|--out|k.html|--units|us|--language|en|--pull", want: sheetOptions{car: "kestrel", reader: "lead", out: "k.html", units: "us", language: "en", pull: true}},
		line[sheetOptions]{args: "kestrel|--paper|--number|12", want: sheetOptions{car: "kestrel", reader: "customer", paper: true, number: "12"}},
		line[sheetOptions]{args: "kestrel|--paper|--for|lead", fault: "--for and --paper: only one of them can be given"},
		line[sheetOptions]{args: "--paper", fault: "CAR: is missing"},
	)
}

func TestRunSheet(t *testing.T) {
	dir, to := desktest.Shop(t), t.TempDir()
	run := typedIn(to, runSheet)
	for _, o := range []sheetOptions{{reader: "customer"}, {reader: "lead", pull: true}, {reader: "aud"}, {paper: true, number: "12"}} {
		o.car = "kestrel"
		says(t, dir, "tech-1", run, o, "# ", "kestrel")
	}
	says(t, dir, "tech-1", run, sheetOptions{car: "kestrel", paper: true, number: "12"}, "12")
	answers(t, dir, "tech-1", run, sheetOptions{car: "kestrel"}, "vehicle", "findings", "points")
	says(t, dir, "tech-1", run, sheetOptions{car: "kestrel", reader: "lead", out: "k.html"}, "written to k.html")
	text, err := os.ReadFile(filepath.Join(to, "k.html"))
	if err != nil || !strings.HasPrefix(string(text), "<!DOCTYPE html>") && !strings.HasPrefix(string(text), "<!doctype html>") {
		t.Errorf("k.html: %v, begins %.40q", err, text)
	}
	refuses(t, dir, "tech-1", run, sheetOptions{car: "kestrel", reader: "luck"}, desk.Usage, "--for: ")
	refuses(t, dir, "tech-1", run, sheetOptions{car: "kestrel", reader: "lead", units: "ells"}, desk.Usage, "--units: ")
	refuses(t, dir, "tech-1", run, sheetOptions{car: "kestrel", reader: "lead", language: "qq"}, desk.Usage, "--language: ")
	refuses(t, dir, "tech-1", run, sheetOptions{car: "kestrel", reader: "lead", out: "k.pdf"}, desk.Usage, "--out k.pdf: neither .html nor .md")
	refuses(t, dir, "tech-1", run, sheetOptions{car: "osprey", reader: "lead"}, desk.Usage, "car osprey: is not in this shop")
}
