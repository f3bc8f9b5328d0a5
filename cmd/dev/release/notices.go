package release

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"github.com/google/licensecheck"
)

// allowed are the licences that a linked package may have, by their SPDX names.
// All ask for their text with every copy, which NOTICES is, and no source.
var allowed = []string{"Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "ISC", "MIT"}

// apart are files about the licences of packages that a module holds and that
// are not linked: module and file, and the packages that must stay out.
var apart = map[[2]string]string{
	{"github.com/cyphar/filepath-securejoin", "COPYING.md"}:      "github.com/cyphar/filepath-securejoin/pathrs-lite",
	{"github.com/cyphar/filepath-securejoin", "LICENSE.MPL-2.0"}: "github.com/cyphar/filepath-securejoin/pathrs-lite",
}

// licenceFile is how a file is called that says on what terms a package comes.
var licenceFile = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|patents)([.-].*)?$`)

// covered is how much of a licence file must be the text of known licences, in
// percent: the rest is names of owners.
const covered = 75

// linked is a package as go list tells of it.
type linked struct {
	ImportPath, Dir string
	Standard        bool
	Module          *struct {
		Path, Version, Dir string
		Main               bool
	}
}

// notices is one text with the licences of all that is linked, on any platform.
// A module without a licence, or with one that is not allowed, is an error.
func (r *release) notices() ([]byte, error) {
	packages, err := r.linked()
	if err != nil {
		return nil, err
	}
	texts := map[string]string{} // by module and file
	modules := map[string]bool{} // with a licence: known to be allowed
	for _, p := range packages {
		if p.Module == nil || p.Module.Main {
			continue
		}
		modules[p.Module.Path] = modules[p.Module.Path] || false
		for dir := p.Dir; ; dir = filepath.Dir(dir) {
			licensed, err := p.read(dir, packages, texts)
			if err != nil {
				return nil, err
			}
			modules[p.Module.Path] = modules[p.Module.Path] || licensed
			if dir == p.Module.Dir {
				break
			}
		}
	}
	for path, licensed := range modules {
		if !licensed {
			return nil, fmt.Errorf("%s: no licence", path)
		}
	}
	if err := r.compilers(texts); err != nil {
		return nil, err
	}
	return notice(texts), nil
}

// linked are the packages of the program on all platforms, once each.
func (r *release) linked() ([]linked, error) {
	found := map[string]linked{}
	for _, p := range platforms {
		text, err := command(r.source, p.settings(), "go", "list", "-deps", "-json=ImportPath,Dir,Standard,Module", "./cmd/feedproof")
		if err != nil {
			return nil, err
		}
		d := json.NewDecoder(strings.NewReader(text))
		for {
			var l linked
			if err := d.Decode(&l); err == io.EOF {
				break
			} else if err != nil {
				return nil, err
			}
			found[l.ImportPath] = l
		}
	}
	return slices.SortedFunc(maps.Values(found), func(a, b linked) int { return cmp.Compare(a.ImportPath, b.ImportPath) }), nil
}

// read adds the licence files of one folder, and reports whether there is a
// licence among them.
func (l linked) read(dir string, all []linked, texts map[string]string) (licensed bool, err error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return false, err
	}
	for _, e := range entries {
		if e.IsDir() || !licenceFile.MatchString(e.Name()) {
			continue
		}
		if out, is := apart[[2]string{l.Module.Path, e.Name()}]; is && !slices.ContainsFunc(all, func(o linked) bool { return o.ImportPath == out || strings.HasPrefix(o.ImportPath, out+"/") }) {
			continue
		}
		text, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			return false, err
		}
		inside, _ := filepath.Rel(l.Module.Dir, filepath.Join(dir, e.Name()))
		name := fmt.Sprintf("%s %s, %s", l.Module.Path, l.Module.Version, filepath.ToSlash(inside))
		texts[name] = string(text)
		if granting(e.Name()) {
			licensed = true
			err = terms(text)
		}
		if err != nil {
			return false, fmt.Errorf("%s: %w", name, err)
		}
	}
	return licensed, nil
}

// granting reports whether a file of that name grants a licence; notices and
// promises about patents stand beside one.
func granting(name string) bool {
	lower := strings.ToLower(name)
	return !strings.HasPrefix(lower, "notice") && !strings.HasPrefix(lower, "patents")
}

// terms says what is wrong with a licence.
func terms(text []byte) error {
	found := licensecheck.Scan(text)
	if found.Percent < covered {
		return fmt.Errorf("only %.0f %% of it is the text of a known licence", found.Percent)
	}
	for _, m := range found.Match {
		if !slices.Contains(allowed, m.ID) {
			return fmt.Errorf("licence %s is none of %v", m.ID, allowed)
		}
	}
	return nil
}

// compilers adds the licence of Go's own library.
func (r *release) compilers(texts map[string]string) error {
	root, err := command(r.source, nil, "go", "env", "GOROOT")
	if err != nil {
		return err
	}
	for _, name := range []string{"LICENSE", "PATENTS"} {
		text, err := os.ReadFile(filepath.Join(strings.TrimSpace(root), name))
		if errors.Is(err, os.ErrNotExist) {
			return fmt.Errorf("the licence of Go: %w; a Go from go.dev has it", err)
		}
		if err != nil {
			return err
		}
		texts["Go standard library, "+name] = string(text)
	}
	return nil
}

// notice is all texts in one order.
func notice(texts map[string]string) []byte {
	var out strings.Builder
	out.WriteString("feedproof holds code of others, which comes on these terms.\n")
	for _, name := range slices.Sorted(maps.Keys(texts)) {
		fmt.Fprintf(&out, "\n%s\n%s\n\n%s\n", name, strings.Repeat("-", len(name)), strings.TrimSpace(texts[name]))
	}
	return []byte(out.String())
}
