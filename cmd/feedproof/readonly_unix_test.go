//go:build unix

package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
)

// nobody is a user that owns nothing.
const nobody = 65534

// TestReadOnlyFolder asks for a fact to be recorded in a shop that may not be
// written. Root writes anywhere, so it hands the command to nobody.
func TestReadOnlyFolder(t *testing.T) {
	program := filepath.Join(t.TempDir(), "feedproof")
	build := exec.Command("go", "build", "-o", program, ".")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	shop := filepath.Join(t.TempDir(), "shop")
	for _, args := range [][]string{
		{"shop", "new", shop, "--lead", "Robin Vale", "--id", "lead-1", "--device", "bay-laptop"},
		{"--shop", shop, "vehicle", "add", "kestrel", "--what", "silver hatchback"},
		{"--shop", shop, "note", "kestrel", "first"},
	} {
		if out, err := exec.Command(program, args...).CombinedOutput(); err != nil {
			t.Fatalf("%v: %v\n%s", args, err, out)
		}
	}
	modes(t, filepath.Dir(filepath.Dir(shop)), shop, 0o555, 0o444)
	before := tree(t, shop)

	for _, c := range []struct {
		args []string
		exit int
		says string
	}{
		{[]string{"--shop", shop, "history", "kestrel"}, 0, "note: first"},
		{[]string{"--shop", shop, "note", "kestrel", "second"}, 1, "permission denied"},
		{[]string{"--shop", shop, "commit", "kestrel"}, 1, "permission denied"},
	} {
		out, exit := unprivileged(t, program, c.args)
		if exit != c.exit || !bytes.Contains(out, []byte(c.says)) {
			t.Errorf("%v: exit %d, want %d and %q:\n%s", c.args, exit, c.exit, c.says, out)
		}
	}
	if after := tree(t, shop); !bytes.Equal(before, after) {
		t.Errorf("the shop changed:\n%s\n%s", before, after)
	}
}

// modes opens the way to the shop and takes the right to write from it, and
// gives it back so that the folder can be removed.
func modes(t *testing.T, top, shop string, dirs, files os.FileMode) {
	t.Helper()
	for at := filepath.Dir(shop); len(at) >= len(top) && at != "."; at = filepath.Dir(at) {
		chmod(t, at, 0o755)
	}
	walk(t, shop, func(path string, d os.FileInfo) {
		mode := files
		if d.IsDir() {
			mode = dirs
		}
		chmod(t, path, mode)
	})
	t.Cleanup(func() {
		walk(t, shop, func(path string, d os.FileInfo) {
			if d.IsDir() {
				chmod(t, path, 0o755)
			}
		})
	})
}

func chmod(t *testing.T, path string, mode os.FileMode) {
	t.Helper()
	if err := os.Chmod(path, mode); err != nil {
		t.Fatal(err)
	}
}

func walk(t *testing.T, dir string, f func(string, os.FileInfo)) {
	t.Helper()
	err := filepath.Walk(dir, func(path string, d os.FileInfo, err error) error {
		if err == nil {
			f(path, d)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// tree is the names and times of everything in a folder.
func tree(t *testing.T, dir string) []byte {
	t.Helper()
	var b bytes.Buffer
	walk(t, dir, func(path string, d os.FileInfo) { b.WriteString(path + " " + d.ModTime().String() + "\n") })
	if b.Len() == 0 {
		t.Fatalf("%s: is empty", dir)
	}
	return b.Bytes()
}

func unprivileged(t *testing.T, program string, args []string) ([]byte, int) {
	t.Helper()
	c := exec.Command(program, args...)
	c.Dir = string(filepath.Separator)
	if os.Getuid() == 0 {
		c.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: nobody, Gid: nobody}}
		chmod(t, filepath.Dir(program), 0o755)
		chmod(t, filepath.Dir(filepath.Dir(program)), 0o755)
	}
	out, err := c.CombinedOutput()
	if coded, ok := err.(*exec.ExitError); ok {
		return out, coded.ExitCode()
	}
	if err != nil {
		t.Fatal(err)
	}
	return out, 0
}
