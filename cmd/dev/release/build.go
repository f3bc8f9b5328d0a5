package release

import (
	"debug/buildinfo"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"time"
)

// settings make a build the same on every machine, whatever go env says there.
func (p platform) settings() []string {
	return []string{
		"CGO_ENABLED=0", "GOFLAGS=-mod=readonly", "GOTOOLCHAIN=local", "GOWORK=off", "GOAMD64=v1", "GOARM64=v8.0",
		"GOOS=" + p.system, "GOARCH=" + p.processor,
	}
}

// host is the platform that this runs on.
func host() platform { return platform{runtime.GOOS, runtime.GOARCH} }

// built is a program with its list of parts.
type built struct {
	version, compiler string
	files             []file
}

// compile builds the program, stripped, with the version that the tag gives it,
// and returns its path.
func (r *release) compile(p platform) (string, error) {
	path := filepath.Join(r.work, p.String(), p.program())
	_, err := command(r.source, p.settings(), "go", "build", "-trimpath", "-buildvcs=true", "-ldflags=-s -w", "-o", path, "./cmd/feedproof")
	return path, err
}

func (r *release) build(p platform) (built, error) {
	path, err := r.compile(p)
	if err != nil {
		return built{}, err
	}
	info, err := buildinfo.ReadFile(path)
	if err != nil {
		return built{}, err
	}
	program, err := os.ReadFile(path)
	if err != nil {
		return built{}, err
	}
	sbom, err := r.sbom(path, info.Main.Version)
	if err != nil {
		return built{}, err
	}
	return built{info.Main.Version, info.GoVersion, []file{{p.program(), 0o755, program}, {"sbom.cdx.json", 0o644, sbom}}}, nil
}

// sbom lists the parts of a program in the form of CycloneDX. Serial number and
// time are left out: they would differ each time.
func (r *release) sbom(path, version string) ([]byte, error) {
	to := path + ".cdx.json"
	if _, err := command(r.source, nil, r.tools.sbom, "bin", "-json", "-std", "-noserial", "-notimestamp", "-version", version, "-output", to, path); err != nil {
		return nil, err
	}
	return os.ReadFile(to)
}

// papers are what goes into every archive beside the program: texts, manual
// pages, completion, and the licences of others.
func (r *release) papers() ([]file, error) {
	notices, err := r.notices()
	if err != nil {
		return nil, err
	}
	files := []file{{"NOTICES", 0o644, notices}}
	for name, from := range map[string]string{"README.md": "README.md", "LICENSE": "LICENSE", "CHANGELOG.md": changelog, "SECURITY.md": ".github/SECURITY.md", "reference.md": "cmd/feedproof/docs/reference.md"} {
		data, err := os.ReadFile(filepath.Join(r.source, filepath.FromSlash(from)))
		if err != nil {
			return nil, err
		}
		files = append(files, file{name, 0o644, data})
	}
	pages, err := r.pages()
	if err != nil {
		return nil, err
	}
	completion, err := r.completion()
	return append(append(files, pages...), completion...), err
}

// pages are the manual pages.
func (r *release) pages() ([]file, error) {
	found, err := filepath.Glob(filepath.Join(r.source, "cmd", "feedproof", "docs", "man", "*.1"))
	if err != nil || len(found) == 0 {
		return nil, fmt.Errorf("no manual pages: %w", err)
	}
	var files []file
	for _, path := range found {
		data, err := os.ReadFile(path)
		if err != nil {
			return nil, err
		}
		files = append(files, file{"man/" + filepath.Base(path), 0o644, data})
	}
	return files, nil
}

// completion is what teaches each shell, as the program writes it.
func (r *release) completion() ([]file, error) {
	path, err := r.compile(host())
	if err != nil {
		return nil, err
	}
	var files []file
	for shell, ending := range map[string]string{"bash": "bash", "zsh": "zsh", "fish": "fish", "powershell": "ps1"} {
		text, err := command(r.source, nil, path, "completion", shell)
		if err != nil {
			return nil, err
		}
		files = append(files, file{"completion/feedproof." + ending, 0o644, []byte(text)})
	}
	return files, nil
}

// day is the date of the release as a Debian changelog writes it.
func (r *release) day() string { return r.moment.Format(time.RFC1123Z) }
