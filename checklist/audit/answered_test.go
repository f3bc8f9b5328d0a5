package audit

import (
	"flag"
	"fmt"
	"os"
	"sync"
	"testing"
)

// answered are the questions that the tests got a row from.
var answered sync.Map

// TestMain holds, when all tests ran, that each question was answered in one.
func TestMain(m *testing.M) {
	code := m.Run()
	all := true
	for _, name := range []string{"test.run", "test.skip", "test.fuzz"} {
		all = all && flag.Lookup(name).Value.String() == ""
	}
	if code == 0 && all {
		code = unanswered()
	}
	os.Exit(code)
}

func unanswered() (code int) {
	for _, q := range All() {
		if _, ok := answered.Load(q.ID); !ok {
			fmt.Printf("%s: %s: no test of checklist/audit asks it and gets a row\n", q.ID, q.Name)
			code = 1
		}
	}
	return code
}
