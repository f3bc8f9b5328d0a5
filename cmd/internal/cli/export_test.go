package cli

import (
	"os"
	"path/filepath"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
)

func TestExportOptions(t *testing.T) {
	fills(t, newExportCommand,
		line[exportOptions]{args: "leave", want: exportOptions{dir: "leave", whom: forInspector}},
		line[exportOptions]{args: "leave|--car|kestrel|--for|new-owner|--files", want: exportOptions{dir: "leave", car: "kestrel", whom: "new-owner", files: true}},
		line[exportOptions]{args: "stick|--copy", want: exportOptions{dir: "stick", whom: forInspector, copy: true}},
		line[exportOptions]{args: "stick|--copy|--car|kestrel", fault: "--car and --copy: only one of them can be given"},
		line[exportOptions]{args: "--copy", fault: "DIR: is missing"},
	)
}

func TestRunExport(t *testing.T) {
	dir, to := desktest.Shop(t), t.TempDir()
	run := far(to, "", runExport)
	says(t, dir, "tech-1", run, exportOptions{dir: "all", whom: "inspector"}, filepath.Join(to, "all")+": 4 records and ", "for the inspector", "sha256sum -c SHA256SUMS")
	says(t, dir, "tech-1", run, exportOptions{dir: "owner", whom: "new", car: "kestrel"}, "1 record and ", "for the new owner")
	answers(t, dir, "tech-1", run, exportOptions{dir: "insurer", whom: "insurer"}, "dir", "commit", "records", "entries", "files")
	answers(t, dir, "tech-1", run, exportOptions{dir: "copy", copy: true}, "dir", "head", "key")
	for _, file := range []string{"all/entries.jsonl", "all/SHA256SUMS", "copy/README.txt", "copy/shop.git/HEAD"} {
		if _, err := os.Stat(filepath.Join(to, file)); err != nil {
			t.Error(err)
		}
	}
	refuses(t, dir, "tech-1", run, exportOptions{dir: "x", whom: "luck"}, desk.Usage, "--for: ")
	refuses(t, dir, "tech-1", run, exportOptions{dir: "x", whom: "new-owner"}, desk.Usage, "--for new-owner: of which car")
	refuses(t, dir, "tech-1", run, exportOptions{dir: "x", whom: "inspector", car: "osprey"}, desk.Usage, "car osprey: is not in this shop")
	refuses(t, dir, "tech-1", run, exportOptions{dir: "all", whom: "inspector"}, desk.Usage, "all")
	refuses(t, dir, "tech-1", run, exportOptions{dir: "copy", copy: true}, desk.Usage, "is not empty")
}
