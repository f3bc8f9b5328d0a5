package datalog

import (
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/google/go-cmp/cmp"
	"github.com/klauspost/compress/zstd"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"pgregory.net/rapid"

	"feedproof/checklist/datalogtest"
)

// readAll reads every column of a log as numbers.
func readAll(file []byte) (names []string, data [][]float64, reading Reading, err error) {
	src, err := openSource(bytes.NewReader(file))
	if err != nil {
		return nil, nil, Reading{}, err
	}
	defer src.close()
	r, err := openRows(src)
	if err != nil {
		return nil, nil, Reading{}, err
	}
	slot := make([]int, len(r.names))
	for i := range slot {
		slot[i] = i
	}
	r.choose(-1, 1, slot)
	row := make([]float64, len(slot))
	for {
		if _, ok := r.next(row); !ok {
			return r.names, data, r.reading, r.finish()
		}
		data = append(data, append([]float64{}, row...))
	}
}

func hms(t float64) string {
	return fmt.Sprintf("%02d:%02d:%07.4f", 23+int(t)/3600, int(t)/60%60, math.Mod(t, 60))
}

func dated(t float64) string {
	return fmt.Sprintf("2026-03-02 09:%02d:%07.4f", int(t)/60%60, math.Mod(t, 60))
}

func millis(t float64) string { return strconv.FormatFloat(t*1000, 'f', 1, 64) }

func latin1(s string) []byte {
	out, err := charmap.ISO8859_1.NewEncoder().String(s)
	if err != nil {
		panic(err)
	}
	return []byte(out)
}

func utf16be(s string) []byte {
	out, err := unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewEncoder().String(s)
	if err != nil {
		panic(err)
	}
	return []byte(out)
}

func utf16NoMark(s string) []byte { return datalogtest.UTF16(s)[2:] }

func gzipped(s string) []byte {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	_, _ = io.WriteString(z, s)
	_ = z.Close()
	return b.Bytes()
}

func zstandard(s string) []byte {
	z, err := zstd.NewWriter(nil)
	if err != nil {
		panic(err)
	}
	return z.EncodeAll([]byte(s), nil)
}

// dialects are the ways loggers write.
var dialects = []datalogtest.Dialect{
	{Name: "semicolon, decimal comma", Delimiter: ";", Comma: true, Units: "row", EndOfLine: "\r\n", TimeUnit: "s"},
	{Name: "tab", Delimiter: "\t", Units: "brackets", EndOfLine: "\n", TimeUnit: "s"},
	{Name: "tab, decimal comma", Delimiter: "\t", Comma: true, Units: "brackets", EndOfLine: "\n", TimeUnit: "s"},
	{Name: "quoted", Delimiter: ",", Units: "row", EndOfLine: "\r\n", Quoted: true, TimeUnit: "s"},
	{Name: "quoted, decimal comma and comma", Delimiter: ",", Comma: true, Units: "row", EndOfLine: "\n", Quoted: true, TimeUnit: "s"},
	{Name: "comments before", Delimiter: ",", Units: "row", EndOfLine: "\n", TimeUnit: "s", Preamble: "# invented log\n#\n\n"},
	{Name: "metadata before", Delimiter: ";", Units: "row", EndOfLine: "\n", TimeUnit: "s", Preamble: "Car;saloon\nDate;2026-03-02\nRun;7\n\n"},
	{Name: "padded metadata before", Delimiter: ",", Units: "row", EndOfLine: "\n", TimeUnit: "s", Preamble: "Run of the day,,,,,,,,,,,,,,\nnumber,7,,,,,,,,,,,,,\n"},
	{Name: "no units", Delimiter: ",", Units: "", EndOfLine: "\n", TimeUnit: "s"},
	{Name: "milliseconds", Delimiter: ",", Units: "row", EndOfLine: "\n", TimeUnit: "ms", Time: millis},
	{Name: "time of day over midnight", Delimiter: ",", Units: "row", EndOfLine: "\n", TimeUnit: "", Time: func(t float64) string {
		return strings.Replace(hms(t+3570), "24:", "00:", 1)
	}},
	{Name: "date", Delimiter: ";", Units: "row", EndOfLine: "\n", TimeUnit: "", Time: dated},
	{Name: "utf-16 little", Delimiter: ",", Units: "row", EndOfLine: "\r\n", TimeUnit: "s", Encode: datalogtest.UTF16},
	{Name: "utf-16 big", Delimiter: "\t", Units: "row", EndOfLine: "\r\n", TimeUnit: "s", Encode: utf16be},
	{Name: "utf-16 without mark", Delimiter: "\t", Units: "row", EndOfLine: "\r\n", TimeUnit: "s", Encode: utf16NoMark},
	{Name: "latin-1", Delimiter: ";", Units: "row", EndOfLine: "\r\n", TimeUnit: "s", Encode: latin1, Preamble: "Prüfer;Müller\n"},
	{Name: "utf-8 with mark", Delimiter: ";", Units: "row", EndOfLine: "\r\n", TimeUnit: "s", Encode: func(s string) []byte { return []byte("\ufeff" + s) }},
	{Name: "gzip", Delimiter: ",", Units: "row", EndOfLine: "\n", TimeUnit: "s", Encode: gzipped},
	{Name: "zstd", Delimiter: ",", Units: "row", EndOfLine: "\n", TimeUnit: "s", Encode: zstandard},
	{Name: "delimiter at the end", Delimiter: ";", Units: "row", EndOfLine: ";\n", TimeUnit: "s"},
}

// TestDialects: the same drive gives the same numbers however it is written.
func TestDialects(t *testing.T) {
	d := datalogtest.Drive{Pulls: 1}
	want := analyse(t, d, testConditions)
	if !want.LowestDrop.Known || want.Loaded != 1 {
		t.Fatal("the plain log has no pull")
	}
	for _, as := range dialects {
		t.Run(as.Name, func(t *testing.T) {
			shift := 0.0
			c := testConditions
			switch as.Name {
			case "time of day over midnight":
				shift = 23*3600 + 3570
			case "date":
				shift = 9 * 3600
			}
			c.HoseOff.From += asDuration(shift)
			c.HoseOff.To += asDuration(shift)
			r := analyseAs(t, d, datalogtest.Columns, as, c)
			if r.Loaded != 1 || r.Reading.Rows != want.Reading.Rows || r.Reading.Bad != 0 {
				t.Fatalf("%d pulls, %+v", r.Loaded, r.Reading)
			}
			sameNumber(t, "lowest", float64(r.LowestDrop.Value), float64(want.LowestDrop.Value))
			sameNumber(t, "at", float64(r.LowestDrop.At), float64(want.LowestDrop.At)+shift)
			sameNumber(t, "base", float64(r.Base.Value), float64(want.Base.Value))
			sameNumber(t, "duty", float64(r.Duty.Value), float64(want.Duty.Value))
			sameNumber(t, "slope", float64(r.Slope.Slope), float64(want.Slope.Slope))
			if as.Name == "date" && r.Timing.Start.Format("2006-01-02 15:04") != "2026-03-02 09:00" {
				t.Errorf("starts at %v", r.Timing.Start)
			}
		})
	}
}

func sameNumber(t *testing.T, what string, got, want float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 1e-6*math.Max(1, math.Abs(want))) {
		t.Errorf("%s is %v, want %v", what, got, want)
	}
}

// TestUnitsAreFound holds what the header says, and what has to be asked.
func TestUnitsAreFound(t *testing.T) {
	file := "Time (s),RPM,MAP_kPa,\"Fuel Pressure, psig\",Lambda (bank 1) [lambda],Baro [kPa abs],AFR Target,Fuel Temp [°C],PW,Other\n" +
		"0,900,40,43.5,1.0,101.3,14.7,30,2.1,5\n0.1,901,41,43.6,1.0,101.3,14.7,30,2.2,5\n"
	p, err := Propose(strings.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	want := []Column{
		{Column: "Time (s)", Channel: Time, Unit: "s"},
		{Column: "RPM", Channel: EngineSpeed, Unit: "rpm"}, // there is no other
		{Column: "MAP_kPa", Channel: Manifold, Unit: "kPa"},
		{Column: "Fuel Pressure, psig", Channel: Rail, Unit: "psig", Sensor: Gauge},
		{Column: "Lambda (bank 1) [lambda]", Channel: Lambda, Unit: "lambda"},
		{Column: "Baro [kPa abs]", Channel: Barometer, Unit: "kPa abs", Sensor: Absolute},
		{Column: "AFR Target", Channel: LambdaTarget},
		{Column: "Fuel Temp [°C]", Channel: FuelTemp, Unit: "°C"},
		{Column: "PW", Channel: PulseWidth},
	}
	if diff := cmp.Diff(want, p.Mapping.Columns); diff != "" {
		t.Errorf("proposed (-want +got):\n%s", diff)
	}
	asked := map[string]bool{}
	for _, g := range p.Guesses {
		asked[g.Column] = g.Ask != ""
	}
	for column, want := range map[string]bool{"Time (s)": false, "RPM": false, "MAP_kPa": true, "Fuel Pressure, psig": false, "PW": true, "AFR Target": true, "Other": false} {
		if asked[column] != want {
			t.Errorf("%s: asked %v, want %v", column, asked[column], want)
		}
	}
	if p.Mapping.Validate() == nil {
		t.Error("a proposal without units is said to be complete")
	}
}

// TestBadRows are counted with their lines; too many refuse the file.
func TestBadRows(t *testing.T) {
	lines := []string{"time,rpm,map", "s,rpm,kPa"}
	for i := range 400 {
		lines = append(lines, fmt.Sprintf("%d,900,40", i))
	}
	lines[10] = "8,900"
	lines[20] = "18,900,40,7"
	lines[30] = "28,ERROR,"
	lines[40] = "time,rpm,map"
	lines[41] = "s,rpm,kPa"
	lines[50] = "# marker"
	lines[60] = `58,"900`
	_, data, reading, err := readAll([]byte(strings.Join(lines, "\n")))
	if err != nil {
		t.Fatal(err)
	}
	want := []BadRow{{11, "2 cells of 3"}, {21, "more than 3 cells"}, {62, "within a quote that is not closed"}}
	if diff := cmp.Diff(want, reading.BadRows[:3]); diff != "" {
		t.Error(diff)
	}
	if reading.Texts != 1 || reading.Headers != 1 || reading.Comments != 1 || len(data) != reading.Rows {
		t.Errorf("%+v", reading)
	}
	for i := 5; i < 300; i += 5 {
		lines[i] = "x"
	}
	_, _, _, err = readAll([]byte(strings.Join(lines, "\n")))
	if err == nil || !strings.Contains(err.Error(), "rows cannot be read") {
		t.Errorf("a file with every fifth row bad: %v", err)
	}
}

func TestRefusals(t *testing.T) {
	for name, test := range map[string]struct{ file, want string }{
		"empty":     {"", "the file is empty"},
		"blank":     {"\n\n  \n", "the file is empty"},
		"prose":     {"this is not\na log at all\n", "no rows of numbers"},
		"no header": {"1,2,3\n4,5,6\n", "no header row"},
		"one":       {"rpm\n900\n901\n", "no rows of numbers"},
		"cut gzip":  {string(gzipped("time,rpm\n0,1\n1,1\n")[:12]), "the file ends too early: copy it again"},
		"cut zstd":  {string(zstandard(rowsOfTime(40_000))[:30_000]), "the file ends too early: copy it again"},
		"cut below": {string(gzipped(rowsOfTime(200_000))[:300_000]), "the file ends too early: copy it again"},
	} {
		t.Run(name, func(t *testing.T) {
			_, _, _, err := readAll([]byte(test.file))
			if err == nil || !strings.Contains(err.Error(), test.want) {
				t.Errorf("error %v, want %q", err, test.want)
			}
		})
	}
}

// rowsOfTime is a log whose text does not pack well.
func rowsOfTime(n int) string {
	var b strings.Builder
	b.WriteString("time,rpm\n")
	for i := range n {
		fmt.Fprintf(&b, "%d,%d\n", i, i*i*7919%9973)
	}
	return b.String()
}

// TestAgainstEncodingCSV reads what the standard library's RFC 4180 reader
// reads, to the same cells.
func TestAgainstEncodingCSV(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		columns := rapid.IntRange(2, 6).Draw(t, "columns")
		cell := rapid.OneOf(rapid.StringMatching(`-?[0-9]{1,6}(\.[0-9]{0,6})?`), rapid.SampledFrom([]string{
			"", "NaN", `"1.5"`, `"2,5"`, `"a ""quoted"" word"`, "\"two\nlines\"", "word", " 7.25 ", "1e3"}))
		text := "h" + strings.Repeat(",h", columns-1) + "\n" + strings.Repeat("1"+strings.Repeat(",2", columns-1)+"\n", 12)
		for range rapid.IntRange(1, 8).Draw(t, "rows") {
			cells := []string{"1"}
			for range columns - 1 {
				cells = append(cells, cell.Draw(t, "cell"))
			}
			text += strings.Join(cells, ",") + "\n"
		}
		records, err := csv.NewReader(strings.NewReader(text)).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		_, got, reading, err := readAll([]byte(text))
		if err != nil || len(got) != len(records)-1 || reading.Bad > 0 {
			t.Fatalf("%d rows of %d, %+v, %v in %q", len(got), len(records)-1, reading, err, text)
		}
		for i, record := range records[1:] {
			for j, cell := range record {
				want, err := strconv.ParseFloat(strings.TrimSpace(strings.Replace(cell, ",", ".", 1)), 64)
				if err != nil {
					want = nan
				}
				if g := got[i][j]; g != want && !(g != g && want != want) {
					t.Fatalf("row %d cell %d: %q read as %v, encoding/csv and strconv %v in %q", i, j, cell, g, want, text)
				}
			}
		}
	})
}

// TestNumbersAgainstStrconv: the quick way of reading a number gives the very
// float64 that strconv gives.
func TestNumbersAgainstStrconv(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[-+]?[0-9]{0,17}(\.[0-9]{0,17})?(e[-+]?[0-9]{1,2})?`).Draw(t, "number")
		want, err := strconv.ParseFloat(text, 64)
		got, ok := cellNumber([]byte(text))
		switch {
		case text == "" || text == "-": // no value
			if !ok || got == got {
				t.Fatalf("%q is %v, %v", text, got, ok)
			}
		case ok != (err == nil):
			t.Fatalf("%q: ok %v, strconv %v", text, ok, err)
		case ok && got != want:
			t.Fatalf("%q: %v, strconv %v", text, got, want)
		}
		value, end, _, plain := scanNumber([]byte(text+";x"), ';')
		if plain && (end != len(text) || value != want) {
			t.Fatalf("%q: %v up to %d, strconv %v", text, value, end, want)
		}
	})
}

// TestUTF16 decodes as the standard library does, which puts U+FFFD in place
// of half a surrogate pair (RFC 2781, 2.2); an odd byte at the end too.
func TestUTF16(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		raw := rapid.SliceOfN(rapid.Byte(), 0, 200).Draw(t, "bytes")
		big := rapid.Bool().Draw(t, "big")
		mark, order := []byte{0xff, 0xfe}, binary.ByteOrder(binary.LittleEndian)
		if big {
			mark, order = []byte{0xfe, 0xff}, binary.BigEndian
		}
		src, err := openSource(bytes.NewReader(append(mark, raw...)))
		if err != nil {
			t.Fatal(err)
		}
		got, err := io.ReadAll(src.text)
		if err != nil {
			t.Fatal(err)
		}
		units := make([]uint16, len(raw)/2)
		for i := range units {
			units[i] = order.Uint16(raw[2*i:])
		}
		want := string(utf16.Decode(units))
		if len(raw)%2 == 1 {
			want += "\ufffd"
		}
		if string(got) != want {
			t.Fatalf("% x: %q, unicode/utf16 %q", raw, got, want)
		}
	})
}

// FuzzPropose and FuzzAnalyse: whatever the bytes, no panic, and what is read
// is consistent.
func FuzzPropose(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, file []byte) {
		p, err := Propose(bytes.NewReader(file))
		if err == nil && len(p.Guesses) < 1 {
			t.Error("no datalogtest.Columns and no error")
		}
	})
}

func FuzzAnalyse(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, file []byte) {
		p, err := Propose(bytes.NewReader(file))
		if err != nil {
			return
		}
		m := asSaid(p, datalogtest.Columns)
		r, err := Analyse(bytes.NewReader(file), m, testConditions)
		if err != nil {
			return
		}
		if r.Reading.Rows == 0 || len(r.Signatures) != len(signatureTable) || r.Mapping.SHA256 == "" {
			t.Errorf("%+v", r)
		}
		if r.LowestDrop.Known && r.Loaded == 0 {
			t.Error("a worst value without a pull")
		}
	})
}

func seeds(f *testing.F) {
	shots := datalogtest.Drive{Pulls: 1, Rate: 5, PullTime: 3, Cruise: 1}.Shots()
	for _, as := range dialects {
		f.Add(datalogtest.Render(shots[len(shots)-4:], datalogtest.Columns, as))
	}
	f.Add(datalogtest.Render(shots, datalogtest.Columns[:3], datalogtest.Plain()))
}

// TestRoundTrip: what was read, written plainly and read again, is the same.
func TestRoundTrip(t *testing.T) {
	for _, as := range dialects {
		if as.Name == "no units" || as.Time != nil {
			continue
		}
		names, data, _, err := readAll(datalogtest.Render(datalogtest.Drive{Pulls: 1, Rate: 10}.Shots(), datalogtest.Columns, as))
		if err != nil || len(data) == 0 {
			t.Fatalf("%s: %d rows, %v", as.Name, len(data), err)
		}
		var b strings.Builder
		b.WriteString(strings.Join(names, ";") + "\n")
		for _, row := range data {
			for i, v := range row {
				b.WriteString(strings.Repeat(";", min(i, 1)) + strconv.FormatFloat(v, 'g', -1, 64))
			}
			b.WriteString("\n")
		}
		again, data2, _, err := readAll([]byte(b.String()))
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(names, again); diff != "" {
			t.Errorf("%s: %s", as.Name, diff)
		}
		if diff := cmp.Diff(data, data2); diff != "" {
			t.Errorf("%s: %s", as.Name, diff)
		}
	}
}
