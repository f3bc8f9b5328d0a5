package datalog

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"fmt"
	"io"
	"maps"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"sync"
	"testing"
	"time"

	"feedproof/checklist/datalogtest"
	"feedproof/schema/quantity"
)

// The log that is timed: invented, 600 000 rows of 20 datalogtest.Columns, 100 minutes at
// 100 Hz with a pull every minute.
const (
	benchRows = 600_000
	benchTime = 6000 // s
)

var benchColumns = datalogtest.With(datalogtest.Duty, datalogtest.Stage, datalogtest.Lateral, datalogtest.LoggedDrop,
	datalogtest.Column{Name: "Knock", Unit: "V", Channel: string(Knock), Decimals: 3, Of: func(s datalogtest.Shot) float64 { return math.Mod(s.T*7.3, 5) }})

// benchFile has so many rows, with pulls of 7 s and their coasting between cruises of
// the same length.
func benchFile(rows int) []byte {
	seconds := float64(rows) * benchTime / benchRows
	pulls := int(seconds-datalogtest.IdleEnd-4) / 60
	d := datalogtest.Drive{Rate: benchRows / benchTime, Pulls: pulls, Cruise: (seconds-datalogtest.IdleEnd-4)/float64(pulls) - 7 - datalogtest.CoastTime}
	return datalogtest.Render(d.Shots()[:rows], benchColumns, datalogtest.Plain())
}

var benchLog = sync.OnceValue(func() []byte {
	return benchFile(benchRows)
})

// csvSum is what a user would otherwise write: every cell through encoding/csv
// and strconv, and the least of one difference.
func csvSum(r io.Reader) (least float64, rows int, err error) {
	c := csv.NewReader(r)
	c.ReuseRecord = true
	least = math.Inf(1)
	row := make([]float64, len(benchColumns)+1)
	for {
		record, err := c.Read()
		if err == io.EOF {
			return least, rows, nil
		}
		if err != nil {
			return 0, 0, err
		}
		if rows++; rows <= 2 {
			continue // names and units
		}
		for i, cell := range record {
			if row[i], err = strconv.ParseFloat(cell, 64); err != nil {
				return 0, 0, err
			}
		}
		if row[9] >= 90 {
			least = min(least, row[3]-(row[2]-row[12])/100)
		}
	}
}

func BenchmarkAnalyse(b *testing.B) {
	file := benchLog()
	m := mapping(b, file, benchColumns)
	b.SetBytes(int64(len(file)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Analyse(bytes.NewReader(file), m, testConditions); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkAnalyseBeside prints the whole analysis beside what reading the same
// file takes otherwise, each as a process of its own, in turn: encoding/csv with
// ParseFloat, and where they are installed awk and Miller, once computing one
// minimum and once the worst values that a user would want of such a log, of
// single rows. A ratio above 1 says that ours took less; the best run of each
// counts, in elapsed time, seconds of processor and most memory. That of a
// tenth of the rows stands beside it, for the memory is not to grow with them,
// and so does what no reader can do without: reading, hashing, finding lines.
func BenchmarkAnalyseBeside(b *testing.B) {
	path, tenth := filepath.Join(b.TempDir(), "log.csv"), filepath.Join(b.TempDir(), "tenth.csv")
	// Written by processes of their own: on Linux a process is charged with the
	// memory of the one that started it.
	timed(b, again("write", path))
	timed(b, again("write a tenth", tenth))
	info, err := os.Stat(path)
	if err != nil {
		b.Fatal(err)
	}
	others := beside(path)
	others["encoding/csv"] = other{"encoding/csv + ParseFloat", again("csv", path)}
	others["floor"] = other{"read, SHA-256 and newlines only", again("floor", path)}
	others["a-tenth"] = other{"the same of a tenth of the rows", again("analyse", tenth)}
	ours, best := spent{}, map[string]spent{}
	for b.Loop() {
		ours = ours.better(timed(b, again("analyse", path)))
		for name, other := range others {
			best[name] = best[name].better(timed(b, other.command))
		}
	}
	b.ReportMetric(0, "ns/op") // of everything together: means nothing
	b.ReportMetric(ours.elapsed.Seconds(), "s")
	b.ReportMetric(ours.processor.Seconds(), "cpu-s")
	b.Logf("%d rows x %d columns, %d MB, %d processors; best of %d runs, each a whole process", benchRows, len(benchColumns)+1, info.Size()/1e6, runtime.NumCPU(), b.N)
	b.Logf("%-36s %6.3f s %6.3f s of processor %5d MB", "feedproof, full analysis", ours.elapsed.Seconds(), ours.processor.Seconds(), ours.memory/1e6)
	for _, name := range slices.Sorted(maps.Keys(best)) {
		took := best[name]
		b.Logf("%-36s %6.3f s %6.3f s of processor %5d MB, %5.2f x and %5.2f x ours", others[name].does, took.elapsed.Seconds(), took.processor.Seconds(), took.memory/1e6,
			float64(took.elapsed)/float64(ours.elapsed), float64(took.processor)/float64(ours.processor))
		if name != "a-tenth" && name != "floor" {
			b.ReportMetric(float64(took.elapsed)/float64(ours.elapsed), "x-"+name)
			b.ReportMetric(float64(took.processor)/float64(ours.processor), "cpu-x-"+name)
		}
	}
}

// other is another process and what it does.
type other struct {
	does    string
	command func() *exec.Cmd
}

// spent is what a process took, memory in bytes.
type spent struct {
	elapsed, processor time.Duration
	memory             int64
}

func (s spent) better(o spent) spent {
	if s == (spent{}) {
		return o
	}
	return spent{min(s.elapsed, o.elapsed), min(s.processor, o.processor), max(s.memory, o.memory)}
}

func timed(b *testing.B, command func() *exec.Cmd) spent {
	c := command()
	begun := time.Now()
	if out, err := c.CombinedOutput(); err != nil {
		b.Fatalf("%v: %s", err, out)
	}
	return spent{time.Since(begun), c.ProcessState.UserTime() + c.ProcessState.SystemTime(), mostMemory(c.ProcessState)}
}

// again is this test binary as a process that does one thing to a file; see
// [TestMain].
func again(task, path string) func() *exec.Cmd {
	return func() *exec.Cmd {
		c := exec.Command(os.Args[0], path)
		c.Env = append(os.Environ(), taskVariable+"="+task)
		return c
	}
}

const taskVariable = "DATALOG_TEST_TASK"

func TestMain(m *testing.M) {
	var err error
	switch task := os.Getenv(taskVariable); task {
	case "":
		os.Exit(m.Run())
	case "write":
		err = os.WriteFile(os.Args[1], benchLog(), 0o600)
	case "write a tenth":
		err = os.WriteFile(os.Args[1], benchFile(benchRows/10), 0o600)
	case "csv":
		err = withFile(os.Args[1], func(f *os.File) error { _, _, err := csvSum(f); return err })
	case "floor":
		err = withFile(os.Args[1], floor)
	case "analyse":
		err = withFile(os.Args[1], analyseFile)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func withFile(path string, f func(*os.File) error) error {
	file, err := os.Open(path)
	if err != nil {
		return err
	}
	defer file.Close()
	return f(file)
}

// floor is what any reader has to do that says which file it read.
func floor(f *os.File) error {
	sum, block, lines := sha256.New(), make([]byte, bufBytes), 0
	for {
		n, err := f.Read(block)
		if err == io.EOF {
			break
		}
		if err != nil {
			return err
		}
		sum.Write(block[:n])
		lines += bytes.Count(block[:n], []byte{'\n'})
	}
	_, err := fmt.Printf("%d lines, %x\n", lines, sum.Sum(nil))
	return err
}

// analyseFile proposes, maps and analyses a file that [render] wrote.
func analyseFile(f *os.File) error {
	p, err := Propose(f)
	if err != nil {
		return err
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return err
	}
	r, err := Analyse(f, asSaid(p, benchColumns), testConditions)
	if err == nil && r.Loaded == 0 {
		return fmt.Errorf("no pull found")
	}
	return err
}

// beside is what else is installed to read such a file in one pass: for the
// least pressure difference at full throttle, and for the [worst] values.
func beside(path string) map[string]other {
	out := map[string]other{}
	add := func(name, program, called, does string, args ...string) {
		if _, err := exec.LookPath(program); err == nil {
			out[name] = other{called + ", " + does, func() *exec.Cmd { return exec.Command(program, args...) }}
		}
	}
	awk, miller := programOf("awk"), "Miller"
	add("awk", "awk", awk, "one minimum", "-F,", `NR>2 && $10>=90 { d=$4-($3-$13)/100; if (!n++ || d<m) m=d } END { print m }`, path)
	add("miller", "mlr", miller, "one minimum", "--icsv", "--ojson", "filter", `is_numeric($Throttle) && $Throttle>=90`, "then", "put", "-q",
		`d=${Fuel Pressure}-($MAP-$Baro)/100; @m=min(@m,d); end{emit @m}`, path)
	add("awk-worst", "awk", awk, worst, "-F,", awkWorst, path)
	add("miller-worst", "mlr", miller, worst, "--icsv", "--ojson", "put", "-q", millerWorst, path)
	return out
}

// programOf is which program a name stands for: awk is mawk or gawk.
func programOf(name string) string {
	path, err := exec.LookPath(name)
	if err != nil {
		return name
	}
	if path, err = filepath.EvalSymlinks(path); err != nil {
		return name
	}
	return filepath.Base(path)
}

// worst is what a user would want of a pull: at full throttle the least
// pressure difference, the greatest commanded duty, lambda error and volts
// lost, the greatest shortfall against the mean of the idle with the reference
// hose off, and the slope of rail against manifold pressure. Unlike ours each is
// of one row, not the median of 0.3 s.
const worst = "five worst rows and a slope"

const awkWorst = `
NR > 2 {
	if ($1 >= 2.5 && $1 <= 11.5) { base += $4; idle++ }
	if ($10 >= 90) {
		drop = $4 - ($3 - $13)/100; duty = $5*$2/1200; lean = $6 - $7; lost = $8 - $9
		if (!n++) { least = drop; most = duty; leanest = lean; volts = lost }
		if (drop < least) least = drop
		if (duty > most) most = duty
		if (lean > leanest) leanest = lean
		if (lost > volts) volts = lost
		x += $3; y += $4; xx += $3*$3; xy += $3*$4
	}
}
END { print least, most, leanest, volts, base/idle - least, 100*(n*xy - x*y)/(n*xx - x*x) }`

const millerWorst = `
is_numeric($Throttle) {
	if ($Time >= 2.5 && $Time <= 11.5) { @base += ${Fuel Pressure}; @idle += 1 }
	if ($Throttle >= 90) {
		x = $MAP; y = ${Fuel Pressure};
		@least = min(@least, y - (x - $Baro)/100);
		@duty = max(@duty, ${Injector PW}*${Engine Speed}/1200);
		@lean = max(@lean, $Lambda - ${Lambda Target});
		@lost = max(@lost, $Battery - ${Pump Voltage});
		@n += 1; @x += x; @y += y; @xx += x*x; @xy += x*y;
	}
}
end { emit1 {"least": @least, "duty": @duty, "lean": @lean, "lost": @lost, "shortfall": @base/@idle - @least, "slope": 100*(@n*@xy - @x*@y)/(@n*@xx - @x*@x)} }`

// TestWorstAgainstAwk holds ours to what awk finds: single rows, so a little
// beyond the medians of 0.3 s, by the noise and by what a pull rises in half of
// that time.
func TestWorstAgainstAwk(t *testing.T) {
	file := benchFile(2 * 60 * benchRows / benchTime)
	r, err := Analyse(bytes.NewReader(file), mapping(t, file, benchColumns), testConditions)
	if err != nil {
		t.Fatal(err)
	}
	awk := exec.Command("awk", "-F,", awkWorst)
	awk.Stdin = bytes.NewReader(file)
	out, err := awk.Output()
	if err != nil {
		t.Fatal(err)
	}
	var least, duty, lean, lost, shortfall, slope float64
	if n, err := fmt.Sscan(string(out), &least, &duty, &lean, &lost, &shortfall, &slope); n != 6 {
		t.Fatalf("%q: %v", out, err)
	}
	for _, c := range []struct {
		what              string
		ours, awk, beyond float64
	}{
		{"least difference, bar", -quantity.In(r.LowestDrop.Value, "bar"), -least, 0.05},
		{"duty, %", quantity.In(r.Duty.Value, "%"), duty, 1},
		{"lean", float64(r.Lean.Value), lean, 0.015},
		{"volts lost", float64(r.VoltsLost.Value), lost, 0.011},
		{"shortfall, bar", quantity.In(r.Shortfall.Value, "bar"), shortfall, 0.05},
	} {
		if c.awk < c.ours-1e-3 || c.awk > c.ours+c.beyond {
			t.Errorf("%s: %v, awk %v", c.what, c.ours, c.awk)
		}
	}
	if math.Abs(float64(r.Slope.Slope)-slope) > 0.002 {
		t.Errorf("slope %v, awk %v", r.Slope.Slope, slope)
	}
}

// TestMemoryIsFlat analyses a log and one twenty times as long: what stays in
// use and what is allocated in all must not grow with the rows.
func TestMemoryIsFlat(t *testing.T) {
	used := func(d datalogtest.Drive) uint64 {
		file := datalogtest.Render(d.Shots(), datalogtest.Columns, datalogtest.Plain())
		m := mapping(t, file, datalogtest.Columns)
		var before, after runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&before)
		if _, err := Analyse(bytes.NewReader(file), m, testConditions); err != nil {
			t.Fatal(err)
		}
		runtime.ReadMemStats(&after)
		return after.TotalAlloc - before.TotalAlloc
	}
	short, long := used(datalogtest.Drive{Pulls: 2, Rate: 20}), used(datalogtest.Drive{Pulls: 2, Rate: 400})
	if long > short*3/2 {
		t.Errorf("20 times the rows allocate %d bytes, %d before", long, short)
	}
}
