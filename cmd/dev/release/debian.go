package release

import (
	"bytes"
	_ "embed"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"text/template"
)

//go:embed nfpm.yaml
var packageText string

//go:embed copyright
var copyrightText []byte

var packageForm = template.Must(template.New("nfpm").Parse(packageText))

// maintainer is who a package names, until there is an address.
const maintainer = "feedproof maintainers <maintainers@feedproof.example>"

// debianVersion is a version in the order of Debian: what Go puts before a
// release, by a hyphen, Debian puts before it by a tilde.
func debianVersion(version string) string {
	release, before, pre := strings.Cut(strings.TrimPrefix(version, "v"), "-")
	if !pre {
		return release
	}
	return release + "~" + strings.ReplaceAll(before, "-", ".")
}

// debian packs the files of one processor as a Debian package.
func (r *release) debian(p platform, files []file) error {
	stage := filepath.Join(r.work, "stage-"+p.String())
	staged, err := r.staged(files)
	if err != nil {
		return err
	}
	for _, f := range staged {
		path := filepath.Join(stage, filepath.FromSlash(f.name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return err
		}
		if err := os.WriteFile(path, f.data, f.mode); err != nil {
			return err
		}
	}
	var form bytes.Buffer
	err = packageForm.Execute(&form, map[string]string{"Processor": p.processor, "Version": debianVersion(r.version), "Maintainer": maintainer, "Stage": filepath.ToSlash(stage)})
	if err != nil {
		return err
	}
	config := stage + ".yaml"
	if err := os.WriteFile(config, form.Bytes(), 0o644); err != nil {
		return err
	}
	_, err = command(r.work, []string{fmt.Sprintf("SOURCE_DATE_EPOCH=%d", r.moment.Unix())}, r.tools.nfpm, "package", "-f", config, "-p", "deb", "-t", r.absolute())
	return err
}

func (r *release) absolute() string {
	path, err := filepath.Abs(r.out)
	if err != nil {
		return r.out
	}
	return path
}

// staged are the files as nfpm.yaml names them: what Debian wants packed is.
func (r *release) staged(files []file) ([]file, error) {
	changes := fmt.Sprintf("feedproof (%s-1) stable; urgency=medium\n\n  * See CHANGELOG.md.gz.\n\n -- %s  %s\n", debianVersion(r.version), maintainer, r.day())
	files = append(files, file{"changelog.Debian", 0o644, []byte(changes)}, file{"copyright", 0o644, copyrightText})
	var out []file
	for _, f := range files {
		if !packs(f.name) {
			out = append(out, f)
			continue
		}
		data, err := gzipped(f.data)
		if err != nil {
			return nil, err
		}
		out = append(out, file{f.name + ".gz", f.mode, data})
	}
	return out, nil
}

// packs reports whether a Debian package has such a file packed.
func packs(name string) bool {
	switch name {
	case "changelog.Debian", "CHANGELOG.md", "NOTICES", "reference.md", "sbom.cdx.json":
		return true
	}
	return strings.HasPrefix(name, "man/")
}
