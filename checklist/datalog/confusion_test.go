package datalog

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"feedproof/checklist/datalogtest"
)

// firstOf is the signature that must be named first for each fault.
var firstOf = map[datalogtest.Fault]string{
	datalogtest.Healthy: "none", datalogtest.Relief: "S01", datalogtest.WornPump: "S02", datalogtest.Restriction: "S03", datalogtest.VoltageSag: "S04",
	datalogtest.ReferenceLeak: "S05", datalogtest.NoReference: "S05", datalogtest.Offset: "S06",
}

// TestConfusion names the faults of random cars, their pressures from the
// network of package fuel, and logs the table of what was there against what
// was named first. The cars are invented: the table says that network and
// signatures hold together, not how often they are right on real cars.
func TestConfusion(t *testing.T) {
	random := rand.New(rand.NewPCG(2026, 3))
	each := 29
	if os.Getenv("FEEDPROOF_LONG") == "" {
		each = 6 // make confusion drives all
	}
	table := map[datalogtest.Fault]map[string]int{}
	for _, fault := range datalogtest.Faults() {
		table[fault] = map[string]int{}
		for range each {
			log := datalogtest.RandomLog(datalogtest.Random(fault, random), random)
			r := analyseAs(t, log.Drive, datalogtest.Columns, log.Dialect, testConditions)
			first := "none"
			if named := r.Named(); len(named) > 0 {
				first = named[0].ID
			}
			table[fault][first]++
			if first != firstOf[fault] {
				t.Logf("%s named %s: %+v\n%s", fault, first, log.Drive, describe(r))
			}
		}
		if right := table[fault][firstOf[fault]]; right < each-each*5/100 {
			t.Errorf("%s is named in %d of %d cars", fault, right, each)
		}
	}
	t.Logf("%d random cars with a fault each, and the signature named first\n%s", each*len(table), confusion(table))
}

func confusion(table map[datalogtest.Fault]map[string]int) string {
	columns := []string{"none"}
	for _, s := range signatureTable {
		columns = append(columns, s.id)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%-15s", "")
	for _, c := range columns {
		fmt.Fprintf(&b, "%5s", c)
	}
	for _, fault := range datalogtest.Faults() {
		fmt.Fprintf(&b, "\n%-15s", fault)
		for _, c := range columns {
			cell := "."
			if n := table[fault][c]; n > 0 {
				cell = fmt.Sprint(n)
			}
			fmt.Fprintf(&b, "%5s", cell)
		}
	}
	return b.String()
}
