package fittings

import (
	"encoding/csv"
	"os"
	"testing"
)

// rows reads a table of check values.
func rows(t *testing.T, name string) []row {
	t.Helper()
	f, err := os.Open("testdata/" + name + ".csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil || len(lines) < 2 {
		t.Fatalf("%s: %d lines, %v", name, len(lines), err)
	}
	var out []row
	for _, line := range lines[1:] {
		r := row{}
		for i, cell := range line {
			r[lines[0][i]] = cell
		}
		out = append(out, r)
	}
	return out
}

func end(t *testing.T, text string) End {
	t.Helper()
	e, err := Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// TestMate judges the 49 pairs whose verdict is known, both ways round. Source
// beside each row of testdata/fits.csv.
func TestMate(t *testing.T) {
	for _, r := range rows(t, "fits") {
		a, b := end(t, r["end_a"]), end(t, r["end_b"])
		for _, pair := range [][2]End{{a, b}, {b, a}} {
			got := Mate(pair[0], pair[1])
			if string(got.Verdict) != r["verdict"] || got.Engages != r["thread_engages"] {
				t.Errorf("%s on %s (%s): %s, engages %s (%s); want %s, %s", pair[0], pair[1], r["source"], got.Verdict, got.Engages, got.Why, r["verdict"], r["thread_engages"])
			}
			if (got.Verdict == Fits) != (got.Why == "") {
				t.Errorf("%s on %s: %q", pair[0], pair[1], got.Why)
			}
		}
	}
}

// TestAlike finds the look-alikes among all threads. Source: arithmetic on the
// sizes of the standards, testdata/lookalikes.csv.
func TestAlike(t *testing.T) {
	want := map[string]bool{}
	for _, r := range rows(t, "lookalikes") {
		want[r["thread_a"]+" / "+r["thread_b"]] = true
	}
	for _, a := range threads {
		for _, b := range threads {
			if a.Name == b.Name {
				continue
			}
			listed := want[a.Name+" / "+b.Name] || want[b.Name+" / "+a.Name]
			if Alike(a, b) != listed {
				t.Errorf("%s and %s: alike %v, listed %v", a.Name, b.Name, Alike(a, b), listed)
			}
		}
	}
}
