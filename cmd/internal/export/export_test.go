package export

import (
	"bufio"
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"feedproof/schema"

	"github.com/google/go-cmp/cmp"
)

// frozen exports every frozen example record and gives the folder.
func frozen(t *testing.T, o Options) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "out")
	w, err := New(dir, o)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range examples(t) {
		for _, e := range r.Entries {
			if err := w.Entry(r.Kind, r.ID, e); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return dir
}

func examples(t *testing.T) []schema.Record {
	t.Helper()
	found, err := filepath.Glob("../../../testdata/formats/v1/*.json")
	if err != nil || len(found) == 0 {
		t.Fatalf("no frozen records: %v", err)
	}
	var all []schema.Record
	for _, path := range found {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if r, err := schema.DecodeRecord(text); err == nil {
			all = append(all, r)
		}
	}
	if len(all) == 0 {
		t.Fatal("none of the frozen records can be read")
	}
	return all
}

// TestLinesHoldEveryEntry reads the lines back with encoding/json: each entry
// of the frozen records, whole.
func TestLinesHoldEveryEntry(t *testing.T) {
	dir := frozen(t, Options{Personal: true, Notes: true})
	f, err := os.Open(filepath.Join(dir, linesName))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines := map[string]line{}
	for in := bufio.NewScanner(f); in.Scan(); {
		var l line
		if err := json.Unmarshal(in.Bytes(), &l); err != nil {
			t.Fatal(err)
		}
		lines[l.Record+" "+l.Entry] = l
	}
	n := 0
	for _, r := range examples(t) {
		for _, e := range r.Entries {
			n++
			var want map[string]any
			if err := json.Unmarshal(e.Data, &want); err != nil {
				t.Fatal(err)
			}
			got := lines[r.ID+" "+e.ID]
			for _, field := range got.LeftOut {
				delete(want, field)
			}
			if diff := cmp.Diff(want, got.Data); diff != "" || got.Kind != e.Kind || got.Counter != e.Counter || got.By != e.By {
				t.Errorf("entry %s: %s", e.ID, diff)
			}
		}
	}
	if n != len(lines) {
		t.Errorf("%d lines for %d entries", len(lines), n)
	}
}

// TestDictionaryNamesEveryColumn compares the heads of all tables with the
// dictionary.
func TestDictionaryNamesEveryColumn(t *testing.T) {
	dir := frozen(t, Options{Personal: true, Notes: true})
	fields, err := Dictionary()
	if err != nil {
		t.Fatal(err)
	}
	want := map[string][]string{}
	for _, f := range fields {
		if !f.Personal {
			want[f.Table] = append(want[f.Table], f.Column)
		}
	}
	found, err := filepath.Glob(filepath.Join(dir, "csv", "*.csv"))
	if err != nil || len(found) < 20 {
		t.Fatalf("%d tables: %v", len(found), err)
	}
	for _, path := range found {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(strings.NewReader(string(text))).ReadAll()
		if err != nil || len(rows) < 2 {
			t.Fatalf("%s: %d rows: %v", path, len(rows), err)
		}
		name := strings.TrimSuffix(filepath.Base(path), ".csv")
		if diff := cmp.Diff(want[name], rows[0]); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
}

// TestEveryColumnHasAMeaning looks for what nobody could read without this
// program: a column without a meaning, and a unit that the table of units,
// from which any number becomes SI, does not have.
func TestEveryColumnHasAMeaning(t *testing.T) {
	fields, err := Dictionary()
	if err != nil {
		t.Fatal(err)
	}
	if len(fields) < 800 {
		t.Fatalf("%d columns only", len(fields))
	}
	seen := map[string]bool{}
	for _, f := range fields {
		if f.Means == "" || f.Type == "" {
			t.Errorf("%s %s: no meaning or no type", f.Table, f.Column)
		}
		if key := f.Table + " " + f.Column; seen[key] {
			t.Errorf("%s: stands twice", key)
		}
		seen[f.Table+" "+f.Column] = true
	}
}

// TestUnitsBecomeSI converts numbers of the exported readings by the exported
// unit table alone. Values: NIST Special Publication 811 (2008), appendix B.8.
func TestUnitsBecomeSI(t *testing.T) {
	f, err := os.Open(filepath.Join(frozen(t, Options{}), unitsName))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	si := map[string]func(float64) float64{}
	for _, r := range rows[1:] {
		factor, bad := strconv.ParseFloat(r[3], 64)
		offset, alsoBad := strconv.ParseFloat(r[4], 64)
		if bad != nil || alsoBad != nil || r[2] == "" {
			t.Fatalf("%q", r)
		}
		si[r[0]+", "+r[1]] = func(x float64) float64 { return x*factor + offset }
	}
	for unit, want := range map[string][2]float64{ // number as written, SI
		"gauge pressure, psi": {43.5, 43.5 * 6894.757}, "pressure difference, inHg": {1, 3386.389}, "gauge pressure, inHg vacuum": {1, -3386.389},
		"volume flow, gph": {1, 1.051503e-6}, "temperature, degF": {212, 373.15}, "power, hp": {1, 745.6999}, "torque, lbf.ft": {1, 1.355818}, "length, mi": {1, 1609.344},
	} {
		convert, there := si[unit]
		if !there {
			t.Errorf("%s: is not in the table", unit)
			continue
		}
		if got := convert(want[0]); math.Abs(got-want[1]) > 1e-6*math.Abs(want[1]) {
			t.Errorf("%s: %g becomes %g, NIST says %g", unit, want[0], got, want[1])
		}
	}
}

// TestEveryKindHasATable holds the schemas to the tables: a kind that is added
// shows up by itself.
func TestEveryKindHasATable(t *testing.T) {
	for _, r := range examples(t) {
		all, err := tables(r.Kind)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range r.Entries {
			if len(all[e.Kind].columns)+len(all[e.Kind].children) == 0 {
				t.Errorf("%s entry %s has no table", r.Kind, e.Kind)
			}
		}
	}
}

// TestPersonalIsSeparate looks for the words themselves in what a new owner
// gets.
func TestPersonalIsSeparate(t *testing.T) {
	var secrets []string
	for _, r := range examples(t) {
		for _, e := range r.Entries {
			if d, err := schema.Into[schema.VehicleData](e); err == nil && d.Owner != "" {
				secrets = append(secrets, d.Owner)
			}
			if d, err := schema.Into[schema.VisitData](e); err == nil && d.Words != "" {
				secrets = append(secrets, d.Words)
			}
			if d, err := schema.Into[schema.PersonData](e); err == nil {
				secrets = append(secrets, d.Name)
			}
			if d, err := schema.Into[schema.NoteData](e); err == nil {
				secrets = append(secrets, d.Text)
			}
		}
	}
	if len(secrets) < 3 {
		t.Fatalf("the frozen records hold %q only", secrets)
	}
	holds := func(dir string) (found []string) {
		err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			text, err := os.ReadFile(path)
			for _, s := range secrets {
				if strings.Contains(string(text), s) && !slices.Contains(found, s) {
					found = append(found, s)
				}
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		return found
	}
	if found := holds(frozen(t, Options{})); len(found) > 0 {
		t.Errorf("without the personal part it holds %q", found)
	}
	whole := frozen(t, Options{Personal: true})
	if err := os.RemoveAll(filepath.Join(whole, personalDir)); err != nil {
		t.Fatal(err)
	}
	if found := holds(whole); len(found) > 0 {
		t.Errorf("with the personal folder taken away it holds %q", found)
	}
}

// TestSums has sha256sum of coreutils check the export, before and after a
// byte is changed.
func TestSums(t *testing.T) {
	program, err := exec.LookPath("sha256sum")
	if err != nil {
		t.Fatal("sha256sum is not installed: apt-get install coreutils")
	}
	dir := frozen(t, Options{Personal: true, Notes: true})
	check := func() error {
		c := exec.Command(program, "-c", "--quiet", sumsName)
		c.Dir = dir
		return c.Run()
	}
	if err := check(); err != nil {
		t.Error(err)
	}
	if err := os.WriteFile(filepath.Join(dir, readmeName), []byte("changed"), 0o644); err != nil {
		t.Fatal(err)
	}
	if check() == nil {
		t.Error("a changed file still checks")
	}
}
