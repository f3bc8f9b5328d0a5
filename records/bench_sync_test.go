package records

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"
)

// BenchmarkSync brings 1,000 new entries, a commit each, from a folder to a bay that has one of its own, among 20,000 cars, merges them and
// sends the merge: beside git pull and git push in a work tree of the same history. Git checks no signature, no role, no schema and no id.
func BenchmarkSync(b *testing.B) {
	const cars, entries = 20_000, 1_000
	one := newCrowd(b, cars)
	before := filepath.Join(b.TempDir(), "before")
	must(b, os.CopyFS(before, os.DirFS(one.dir)))
	began := time.Now()
	_, err := one.shop.indexed()
	must(b, err)
	index := time.Since(began)
	must(b, os.CopyFS(filepath.Join(before, "cache"), os.DirFS(filepath.Join(one.dir, "cache"))))
	for i := range entries {
		one.commitOne(i)
	}
	after := filepath.Join(one.dir, gitDir)

	b.Run("feedproof", func(b *testing.B) {
		var each []time.Duration
		for b.Loop() {
			b.StopTimer()
			two := &world{t: b, dir: filepath.Join(b.TempDir(), "two"), keys: one.keys}
			must(b, os.CopyFS(two.dir, os.DirFS(before)))
			var err error
			two.shop, err = Open(two.dir)
			must(b, err)
			stick := b.TempDir()
			must(b, os.CopyFS(filepath.Join(stick, gitDir), os.DirFS(after)))
			two.commitOne(cars - 1)
			b.StartTimer()
			start := time.Now()
			r, err := two.sync(stick)
			each = append(each, time.Since(start))
			must(b, err)
			if r.Came.Entries != entries || r.Went.Entries != 1 || !r.Merged {
				b.Fatalf("sync says %+v", r)
			}
		}
		b.ReportMetric(milliseconds(median(each)), "sync-ms")
		b.ReportMetric(milliseconds(index), "first-index-ms")
	})
	b.Run("git", func(b *testing.B) {
		for b.Loop() {
			b.StopTimer()
			tree, stick := filepath.Join(b.TempDir(), "tree"), filepath.Join(b.TempDir(), "stick")
			git(b, ".", "clone", "-q", "--no-hardlinks", filepath.Join(before, gitDir), tree)
			must(b, os.CopyFS(stick, os.DirFS(after)))
			for name, value := range map[string]string{"user.name": "tech", "user.email": "tech", "remote.origin.url": stick, "pull.rebase": "false"} {
				git(b, tree, "config", name, value)
			}
			p, err := recordPath("vehicle", carName(cars-1))
			must(b, err)
			must(b, os.WriteFile(filepath.Join(tree, p), fmt.Appendf(nil, "changed\n"), 0o644))
			git(b, tree, "commit", "-q", "-a", "-m", "x")
			b.StartTimer()
			git(b, tree, "pull", "-q", "--no-edit")
			git(b, tree, "push", "-q")
		}
	})
}
