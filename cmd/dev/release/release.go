// Package release makes what people install: archives for six systems, a Debian
// package, checksums, and a signature when a key is given.
//
// Start with [Run]. It builds what is committed, in a clone of its own, so that
// the same commit gives the same bytes from any folder. The Go that builds is
// part of the bytes: it is printed. What is deliberately absent: publishing.
package release

import (
	"cmp"
	"crypto/sha256"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// platforms are the systems and processors that are built for.
var platforms = []platform{
	{"linux", "amd64"}, {"linux", "arm64"}, {"windows", "amd64"}, {"windows", "arm64"}, {"darwin", "amd64"}, {"darwin", "arm64"},
}

// platform is a system and a processor, by Go's names.
type platform struct{ system, processor string }

func (p platform) String() string { return p.system + "-" + p.processor }

// program is the name of the program's file there.
func (p platform) program() string {
	if p.system == "windows" {
		return "feedproof.exe"
	}
	return "feedproof"
}

// file is one that goes into an archive or a package.
type file struct {
	name string // with slashes
	mode os.FileMode
	data []byte
}

// release is one commit on its way to people.
type release struct {
	source  string // a clone, to which nothing is added
	work    string // a folder for what is made on the way
	out     string
	version string    // the tag, or one that Go makes of time and commit
	moment  time.Time // of the commit
	tools   tools
}

// tools are the programs that do what others do better, by their paths.
type tools struct{ nfpm, sbom string }

// Run makes the release of the commit that the working folder stands on.
func Run(args []string, out io.Writer) error {
	flags := flag.NewFlagSet("release", flag.ContinueOnError)
	to := flags.String("out", "build/release", "folder for what is made; what is in it goes")
	only := flags.String("only", "", "one platform alone, such as linux-amd64")
	key := flags.String("key", "", "SSH key that signs SHA256SUMS; for a key of an agent its public half")
	var t tools
	flags.StringVar(&t.nfpm, "nfpm", "nfpm", "the program nfpm")
	flags.StringVar(&t.sbom, "sbom", "cyclonedx-gomod", "the program cyclonedx-gomod")
	if err := flags.Parse(args); err != nil {
		return err
	}
	chosen, err := choose(*only)
	if err != nil {
		return err
	}
	work, err := os.MkdirTemp("", "feedproof-release-")
	if err != nil {
		return err
	}
	defer func() { _ = os.RemoveAll(work) }()
	r := release{source: filepath.Join(work, "source"), work: work, out: *to, tools: t}
	for _, step := range []func() error{r.begin, func() error { return r.make(out, chosen) }, func() error { return r.sum(out) }, func() error { return r.sign(*key) }} {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

func choose(only string) ([]platform, error) {
	if only == "" {
		return platforms, nil
	}
	i := slices.IndexFunc(platforms, func(p platform) bool { return p.String() == only })
	if i < 0 {
		return nil, fmt.Errorf("-only: %q is none of %v", only, platforms)
	}
	return platforms[i : i+1], nil
}

// begin clones the commit, reads its date and empties the folder for what is made.
func (r *release) begin() error {
	if _, err := command("", nil, "git", "clone", "--quiet", ".", r.source); err != nil {
		return err
	}
	stamp, err := command(r.source, nil, "git", "log", "-1", "--format=%cI")
	if err != nil {
		return err
	}
	if r.moment, err = time.Parse(time.RFC3339, strings.TrimSpace(stamp)); err != nil {
		return err
	}
	r.moment = r.moment.UTC()
	return cmp.Or(os.RemoveAll(r.out), os.MkdirAll(r.out, 0o755))
}

// make builds and packs for each platform.
func (r *release) make(out io.Writer, chosen []platform) error {
	papers, err := r.papers()
	if err != nil {
		return err
	}
	for _, p := range chosen {
		built, err := r.build(p)
		if err != nil {
			return err
		}
		if err := r.named(built.version); err != nil {
			return err
		}
		fmt.Fprintf(out, "%s %s, %s\n", r.version, p, built.compiler)
		if err := r.pack(p, slices.Concat(built.files, papers)); err != nil {
			return err
		}
	}
	return nil
}

// named holds all programs to one version, and the changelog to have it.
func (r *release) named(version string) error {
	if r.version == version {
		return nil
	}
	if r.version != "" {
		return fmt.Errorf("built as %s and as %s", r.version, version)
	}
	r.version = version
	text, err := os.ReadFile(filepath.Join(r.source, changelog))
	if err != nil {
		return err
	}
	_, err = notes(string(text), version)
	return err
}

func (r *release) pack(p platform, files []file) error {
	if p.system == "windows" {
		files = slices.Concat(files, []file{{startScript, 0o755, windowsLines(start)}})
		return r.put(p, ".zip", zipped, files)
	}
	if err := r.put(p, ".tar.gz", tarred, files); err != nil || p.system != "linux" {
		return err
	}
	return r.debian(p, files)
}

// put packs the files of a platform into an archive, in one folder of the same name.
func (r *release) put(p platform, ending string, packed func(string, []file, time.Time) ([]byte, error), files []file) error {
	base := fmt.Sprintf("feedproof-%s-%s", r.version, p)
	data, err := packed(base, files, r.moment)
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(r.out, base+ending), data, 0o644)
}

// sums is the file of checksums, in the form of sha256sum.
const sums = "SHA256SUMS"

// sum writes down the checksum of each file that was made.
func (r *release) sum(out io.Writer) error {
	made, err := os.ReadDir(r.out)
	if err != nil {
		return err
	}
	var text strings.Builder
	for _, m := range made {
		data, err := os.ReadFile(filepath.Join(r.out, m.Name()))
		if err != nil {
			return err
		}
		fmt.Fprintf(&text, "%x  %s\n", sha256.Sum256(data), m.Name())
	}
	fmt.Fprint(out, text.String())
	return os.WriteFile(filepath.Join(r.out, sums), []byte(text.String()), 0o644)
}

// namespace keeps the signature from being taken for one of a record.
const namespace = "feedproof-release"

// sign signs the checksums, if there is a key.
func (r *release) sign(key string) error {
	if key == "" {
		return nil
	}
	_, err := command("", nil, "ssh-keygen", "-q", "-Y", "sign", "-f", key, "-n", namespace, filepath.Join(r.out, sums))
	return err
}

// command runs a program in a folder, with settings beside the usual ones, and
// returns what it says.
func command(dir string, settings []string, name string, args ...string) (string, error) {
	c := exec.Command(name, args...)
	c.Dir, c.Env = dir, append(os.Environ(), settings...)
	out, err := c.Output()
	if failed, is := errors.AsType[*exec.ExitError](err); is {
		return "", fmt.Errorf("%s %s: %w\n%s", filepath.Base(name), strings.Join(args, " "), err, failed.Stderr)
	}
	return string(out), err
}
