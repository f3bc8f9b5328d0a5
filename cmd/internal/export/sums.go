package export

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// WriteSums writes the SHA-256 of every file below a folder, but of those in
// the folders left out, in the form that sha256sum -c reads.
func WriteSums(dir string, leaveOut ...string) error {
	sums := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		if d.IsDir() && slices.Contains(leaveOut, name) {
			return filepath.SkipDir
		}
		if !d.Type().IsRegular() || name == sumsName {
			return nil
		}
		sums[filepath.ToSlash(name)], err = sumOf(path)
		return err
	})
	if err != nil {
		return err
	}
	var b strings.Builder
	for _, name := range slices.Sorted(maps.Keys(sums)) {
		fmt.Fprintf(&b, "%s  %s\n", sums[name], name)
	}
	return os.WriteFile(filepath.Join(dir, sumsName), []byte(b.String()), 0o644)
}

func sumOf(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}
