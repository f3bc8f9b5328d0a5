package cli

import (
	"errors"
	"strings"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"

	"github.com/google/go-cmp/cmp"
	"github.com/spf13/cobra"
)

func TestArgumentOf(t *testing.T) {
	above := &cobra.Command{Use: "gauge"}
	for _, c := range []struct {
		use  string
		n    int
		want string
	}{
		{"check CAR", 0, "CAR"}, {"check CAR", 1, ""}, {"board [CAR]", 0, "CAR"}, {"use", 0, ""},
		{"step CAR [STEP ...]", 1, "STEP"}, {"step CAR [STEP ...]", 4, "STEP"}, {"attach CAR FILE ...", 7, "FILE"},
		{"calibrate ID", 0, "GAUGE"}, // what ID is, the command above says
	} {
		below := &cobra.Command{Use: c.use}
		above.AddCommand(below)
		if got := argumentOf(below, c.n); got != c.want {
			t.Errorf("%s: argument %d is %q, want %q", c.use, c.n, got, c.want)
		}
	}
}

func TestBeginning(t *testing.T) {
	dir := desktest.Shop(t)
	open := func() (*desk.Desk, error) { return desktest.At(t, dir, ""), nil }
	nowhere := func() (*desk.Desk, error) { return nil, errors.New("there is no shop") }
	for _, c := range []struct {
		of    offer
		typed string
		want  []string
	}{
		{arguments["CAR"], "KES", []string{"kestrel\tKT 42"}},
		{arguments["CAR"], "o", []string{}},
		{people, "", []string{"lead-1\tRobin Vale", "tech-1\tSam Reed"}},
		{gauges, "p", []string{"P1\trail gauge"}},
		{parts, "", []string{"PUMP-A"}},
		{bays, "", nil},
		{flagValues["units"], "u", []string{"us"}},
		{arguments["NONE"], "", nil},
	} {
		if diff := cmp.Diff(c.want, beginning(c.typed, c.of, open)); diff != "" {
			t.Errorf("%q\n%s", c.typed, diff)
		}
	}
	if got := beginning("", people, nowhere); got != nil {
		t.Errorf("without a shop: %v", got)
	}
	for _, book := range []offer{steps, arguments["TEST"], arguments["CAUTION"], arguments["POINT"], arguments["QUESTION"], arguments["ID"]} {
		all := beginning("", book, nowhere)
		if len(all) == 0 || !strings.Contains(all[0], "\t") {
			t.Errorf("%v, want words with what they are", all)
		}
	}
}
