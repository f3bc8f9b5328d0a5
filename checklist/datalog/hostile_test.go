package datalog

import (
	"bytes"
	"compress/gzip"
	"io"
	"math"
	"os"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"

	"feedproof/checklist/datalogtest"
)

// rewritten is what was read of a log, in the plainest form: quoted names and
// the shortest digits that are the same number.
func rewritten(names []string, data [][]float64) []byte {
	var b strings.Builder
	for i, name := range names {
		b.WriteString(strings.Repeat(";", min(i, 1)) + `"` + strings.ReplaceAll(name, `"`, `""`) + `"`)
	}
	for _, row := range data {
		b.WriteString("\n")
		for i, v := range row {
			b.WriteString(strings.Repeat(";", min(i, 1)) + strconv.FormatFloat(v, 'g', -1, 64))
		}
	}
	return []byte(b.String() + "\n")
}

// FuzzRoundTrip: what was read, written plainly and read again, is the same.
func FuzzRoundTrip(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, file []byte) {
		names, data, _, err := readAll(file)
		if err != nil || !plainTable(names, data) {
			return
		}
		again, same, reading, err := readAll(rewritten(names, data))
		if err != nil {
			t.Fatalf("%v\n%q", err, rewritten(names, data))
		}
		if !slices.Equal(names, again) || len(same) != len(data) || reading.Bad > 0 {
			t.Fatalf("%q and %q, %d rows and %d, %+v", names, again, len(data), len(same), reading)
		}
		for i, row := range data {
			if !slices.EqualFunc(row, same[i], func(a, b float64) bool { return a == b || a != a && b != b }) {
				t.Fatalf("row %d: %v and %v", i, row, same[i])
			}
		}
	})
}

// plainTable leaves out what another header would be seen in: names that are
// numbers, blank or hold a delimiter, rows that are mostly blank.
func plainTable(names []string, data [][]float64) bool {
	for i, name := range names {
		_, number := cellNumber([]byte(name))
		if number || isTime([]byte(" "+name)) || strings.ContainsAny(name, "\t;,|#%[](){}<>\"\n\r\ufffd") || slices.Index(names, name) != i {
			return false
		}
	}
	for _, row := range data {
		numbers := 0
		for _, v := range row {
			if v == v {
				numbers++
			}
		}
		if 2*numbers < len(row) {
			return false
		}
	}
	return len(names) > 1 && len(data) > 2
}

// endless repeats a text until so many bytes are read.
func endless(head, text string, bytes int64) io.Reader {
	return io.LimitReader(io.MultiReader(strings.NewReader(head), &repeater{text: text}), bytes)
}

type repeater struct {
	text string
	at   int
}

func (r *repeater) Read(p []byte) (int, error) {
	n := 0
	for n < len(p) {
		k := copy(p[n:], r.text[r.at:])
		n, r.at = n+k, (r.at+k)%len(r.text)
	}
	return n, nil
}

// TestMemoryIsBounded reads files that are made to use memory up: 16 MB each, 64 MB with FEEDPROOF_LONG, of
// one line, of one open quote, of bad rows, of rows behind rows, and as many
// bytes packed into few.
func TestMemoryIsBounded(t *testing.T) {
	size, most := int64(16<<20), int64(12<<20)
	if os.Getenv("FEEDPROOF_LONG") != "" {
		size, most = 64<<20, 12<<20
	}
	good := "Time,RPM\n" + strings.Repeat("1,2\n", 20)
	packed := func(text string) io.Reader {
		var b bytes.Buffer
		z := gzip.NewWriter(&b)
		if _, err := io.Copy(z, endless(good, text, size)); err != nil {
			t.Fatal(err)
		}
		if err := z.Close(); err != nil {
			t.Fatal(err)
		}
		return &b
	}
	wide := strings.Repeat("a,", maxColumns+1) + "a\n" + strings.Repeat(strings.Repeat("1,", maxColumns+1)+"1\n", 3)
	for name, file := range map[string]func() io.Reader{
		"one line":          func() io.Reader { return endless("", "x", size) },
		"one line below":    func() io.Reader { return endless(good, "1,2,", size) },
		"an open quote":     func() io.Reader { return endless(good+`"`, "1,2 and so on\n", size) },
		"bad rows":          func() io.Reader { return endless(good, "1 is no row of this log, nor is this any\n", size) },
		"quoted rows":       func() io.Reader { return endless(good, "\"1234567.25\",\"7654321.125\"\n", size) },
		"good rows":         func() io.Reader { return endless(good, "1234567.25,7654321.125\n", size) },
		"too many columns":  func() io.Reader { return strings.NewReader(wide) },
		"packed good rows":  func() io.Reader { return packed("1234567.25,7654321.125\n") },
		"packed blank rows": func() io.Reader { return packed(strings.Repeat(" ", 40) + "\n") },
	} {
		t.Run(name, func(t *testing.T) {
			before := heap()
			p, err := Propose(file())
			if err == nil {
				m := Mapping{Header: p.Mapping.Header, Columns: []Column{{Column: "Time", Channel: Time, Unit: "s"}, {Column: "RPM", Channel: EngineSpeed, Unit: "rpm"}}}
				_, _ = Analyse(file(), m, Conditions{}) // whether it is refused is not the matter here
			}
			if used := heap() - before; used > most {
				t.Errorf("%d MB of heap", used>>20)
			}
		})
	}
}

// heap is what the program has asked of the system for its heap, at most so far.
func heap() int64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int64(m.HeapSys)
}

// TestRereadIsExact: the numbers of a log in each dialect survive being written
// and read again, to the last bit.
func TestRereadIsExact(t *testing.T) {
	for _, as := range datalogtest.Dialects() {
		names, data, _, err := readAll(datalogtest.Render(datalogtest.Drive{Pulls: 1, Rate: 10}.Shots(), datalogtest.Columns, as))
		if err != nil || len(data) < 100 {
			t.Fatalf("%s: %d rows, %v", as.Name, len(data), err)
		}
		_, again, _, err := readAll(rewritten(names, data))
		if err != nil {
			t.Fatal(err)
		}
		for i := range data {
			if !slices.EqualFunc(data[i], again[i], func(a, b float64) bool { return math.Float64bits(a) == math.Float64bits(b) || a != a && b != b }) {
				t.Fatalf("%s: row %d: %v and %v", as.Name, i, data[i], again[i])
			}
		}
	}
}
