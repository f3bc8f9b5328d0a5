package records

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"feedproof/schema"
)

// BenchmarkAppend records one entry, durable when it returns, in a car with 400 entries: the counter is looked up as a command does. It
// reports the 95th percentile beside the mean.
func BenchmarkAppend(b *testing.B) {
	w := newShop(b)
	w.vehicle("car-1")
	for i := range 400 {
		w.note("car-1", plainText("car-1", i+2))
	}
	_, err := w.commit("car-1")
	must(b, err)
	var each []time.Duration
	for b.Loop() {
		began := time.Now()
		w.note("car-1", "pump whines")
		each = append(each, time.Since(began))
	}
	slices.Sort(each)
	b.ReportMetric(milliseconds(each[len(each)*95/100]), "p95-ms")
}

// BenchmarkCommit100 commits one note to one of 100 cars, durably and signed, beside git add + git commit in a work tree.
func BenchmarkCommit100(b *testing.B) {
	w := newCrowd(b, 100)
	ours := w.timeCommits(b)
	w.compareWithGit(b, ours)
}

// BenchmarkCommit50000 is BenchmarkCommit100 among 50,000 cars, also beside its own cost among 100.
func BenchmarkCommit50000(b *testing.B) {
	w := newCrowd(b, 50_000)
	few := newCrowd(b, 100)
	var atFew []time.Duration
	for i := range 40 {
		atFew = append(atFew, few.commitOne(i))
	}
	ours := w.timeCommits(b)
	b.ReportMetric(float64(ours)/float64(median(atFew)), "x-own-at-100")
	w.compareWithGit(b, ours)
}

// BenchmarkVerify checks a history of 1,000 commits; the time is of one whole check.
func BenchmarkVerify(b *testing.B) {
	w := newShop(b)
	for i := range 10 {
		w.vehicle(carName(i))
	}
	for i := range 1000 {
		w.commitOne(i % 10)
	}
	for b.Loop() {
		_, err := w.shop.Verify(b.Context(), nil)
		must(b, err)
	}
}

func milliseconds(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }

func median(d []time.Duration) time.Duration {
	slices.Sort(d)
	return d[len(d)/2]
}

// carName names the cars of a crowd.
func carName(i int) string { return fmt.Sprintf("car-%06d", i) }

func plainText(id string, n int) string {
	return fmt.Sprintf("note %d of %s: ", n, id) + strings.Repeat("words that a technician would write, ", 5)
}

// newCrowd is a shop with many cars of 20 entries each, put in by git fast-import in one commit.
func newCrowd(b *testing.B, cars int) *world {
	b.Helper()
	w := newShop(b)
	head, err := w.shop.head()
	must(b, err)
	var in bytes.Buffer
	fmt.Fprintf(&in, "commit refs/heads/main\ncommitter crowd <crowd> 1772442845 +0000\ndata 0\nfrom %s\n", head)
	for i := range cars {
		r := w.manyNotes(carName(i))
		p, err := recordPath(schema.VehicleRecord, r.ID)
		must(b, err)
		text := r.Encode()
		fmt.Fprintf(&in, "M 100644 inline %s\ndata %d\n%s\n", p, len(text), text)
	}
	cmd := exec.Command("git", "-C", filepath.Join(w.dir, gitDir), "fast-import", "--quiet")
	cmd.Stdin = &in
	if out, err := cmd.CombinedOutput(); err != nil {
		b.Fatalf("git fast-import: %v\n%s", err, out)
	}
	w.shop, err = Open(w.dir)
	must(b, err)
	return w
}

// manyNotes is the record of one of a crowd. All have the same lines, which are signed for one of them: nobody reads them.
func (w *world) manyNotes(id string) schema.Record {
	if len(w.crowd) == 0 {
		facts := []Fact{{By: "tech-1", Key: w.keys["tech-1"], Entered: moment, Data: schema.VehicleData{
			Name: "car", Description: "invented", RoadUse: schema.Yes, EmissionControlled: schema.No, TankEverFuelled: schema.Yes,
		}}}
		for i := range 19 {
			facts = append(facts, Fact{By: "tech-1", Key: w.keys["tech-1"], Entered: moment, Data: schema.NoteData{Text: plainText("any", i+2)}})
		}
		seen, err := w.shop.Show(schema.VehicleRecord, id)
		must(w.t, err)
		w.crowd, err = w.shop.Write(seen, facts...)
		must(w.t, err)
	}
	return schema.NewRecord(schema.VehicleRecord, id).With(w.crowd...)
}

// commitOne records and commits a note on one car, in a shop opened anew as a command opens it, and says how long the commit took.
func (w *world) commitOne(i int) time.Duration {
	w.t.Helper()
	w.note(carName(i), plainText(carName(i), 1000+i))
	began := time.Now()
	var err error
	w.shop, err = Open(w.dir)
	must(w.t, err)
	_, err = w.commit(carName(i))
	must(w.t, err)
	return time.Since(began)
}

// timeCommits is the median of a commit; the benchmark's own figure includes appending to the draft.
func (w *world) timeCommits(b *testing.B) time.Duration {
	var each []time.Duration
	for i := 0; b.Loop(); i++ {
		each = append(each, w.commitOne(i%100))
	}
	b.ReportMetric(milliseconds(median(each)), "commit-ms")
	return median(each)
}

// compareWithGit commits the same kind of change with git add + git commit in a work tree. Git as installed neither signs nor syncs loose
// objects, so it does less.
func (w *world) compareWithGit(b *testing.B, ours time.Duration) {
	b.Helper()
	tree := filepath.Join(b.TempDir(), "tree")
	w.git("clone", "-q", "--no-hardlinks", ".", tree)
	git(b, tree, "config", "user.name", "tech")
	git(b, tree, "config", "user.email", "tech")
	var each []time.Duration
	for i := range 15 {
		p, err := recordPath(schema.VehicleRecord, carName(i))
		must(b, err)
		f, err := os.OpenFile(filepath.Join(tree, p), os.O_APPEND|os.O_WRONLY, 0)
		must(b, err)
		_, err = f.WriteString("\n")
		must(b, err)
		must(b, f.Close())
		began := time.Now()
		git(b, tree, "add", p)
		git(b, tree, "commit", "-q", "-m", "x")
		each = append(each, time.Since(began))
	}
	b.ReportMetric(milliseconds(median(each)), "git-ms")
	b.ReportMetric(float64(median(each))/float64(ours), "x-faster-than-git")
}

// BenchmarkRecord400 reads a record of 400 entries with its doubts, in a shop opened anew as a command opens it, beside reading it alone.
func BenchmarkRecord400(b *testing.B) {
	w := newShop(b)
	w.vehicle("car-1")
	for i := range 40 {
		for n := range 10 {
			w.note("car-1", plainText("car-1", 10*i+n))
		}
		_, err := w.commit("car-1")
		must(b, err)
	}
	var whole, alone []time.Duration
	for b.Loop() {
		shop, err := Open(w.dir)
		must(b, err)
		snap, _, err := shop.snapshot()
		must(b, err)
		began := time.Now()
		_, err = snap.record(schema.VehicleRecord, "car-1")
		must(b, err)
		alone = append(alone, time.Since(began))
		began = time.Now()
		r, err := shop.Record(schema.VehicleRecord, "car-1")
		must(b, err)
		whole = append(whole, time.Since(began))
		if len(r.Entries) != 401 || len(r.Doubts) > 0 {
			b.Fatal(r.Doubts)
		}
	}
	b.ReportMetric(milliseconds(median(whole)), "whole-ms")
	b.ReportMetric(milliseconds(median(alone)), "alone-ms")
}
