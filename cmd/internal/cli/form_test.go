package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"reflect"
	"strings"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/cmd/internal/terminal"
	"feedproof/records"
	"feedproof/schema"
	"feedproof/schema/quantity"

	"github.com/google/go-cmp/cmp"
	"github.com/spf13/cobra"
)

// maker makes a command that hands its options to a function.
type maker[O any] func(run func(context.Context, O) error) *cobra.Command

// ownFields lets options be compared whole.
var ownFields = cmp.Exporter(func(t reflect.Type) bool { return t.PkgPath() == reflect.TypeFor[app]().PkgPath() })

// line is a command line and the options it means; words in one are parted by
// |. An empty fault is none.
type line[O any] struct {
	args  string
	want  O
	fault string
}

// fills holds a command to the options that its lines mean. A command is given
// several lines, so that one which keeps something between two runs is found.
func fills[O any](t *testing.T, of maker[O], lines ...line[O]) {
	t.Helper()
	if len(lines) == 0 {
		t.Fatal("no lines")
	}
	for _, l := range lines {
		var got O
		ran := false
		c := of(func(_ context.Context, o O) error {
			got, ran = o, true
			return nil
		})
		c.SetArgs(strings.Split(l.args, "|"))
		c.SilenceErrors, c.SilenceUsage = true, true
		c.SetOut(io.Discard)
		c.SetErr(io.Discard)
		err := c.Execute()
		switch {
		case l.fault != "" && (err == nil || ran || !strings.Contains(err.Error(), l.fault)):
			t.Errorf("%s: %v, want %q", l.args, err, l.fault)
		case l.fault == "" && (err != nil || !ran):
			t.Errorf("%s: %v, ran %v", l.args, err, ran)
		case l.fault == "":
			if diff := cmp.Diff(l.want, got, ownFields); diff != "" {
				t.Errorf("%s\n%s", l.args, diff)
			}
		}
	}
}

// shown is what a run function says at a fresh desk of a shop.
func shown[O any](t *testing.T, dir, who string, run func(context.Context, *desk.Desk, *terminal.Screen, O) error, o O, options terminal.Options) (string, error) {
	t.Helper()
	var out bytes.Buffer
	screen := terminal.New(&out, io.Discard, options)
	err := run(context.Background(), desktest.At(t, dir, who), screen, o)
	if err == nil {
		err = screen.Answer()
	}
	return out.String(), err
}

// typedIn is a run function as it is typed in a folder.
func typedIn[O any](dir string, run func(context.Context, *desk.Desk, *terminal.Screen, folder, O) error) func(context.Context, *desk.Desk, *terminal.Screen, O) error {
	return here(&app{World: World{Dir: dir}}, run)
}

// shopless is a run function that needs no shop, as it is typed in a folder.
func shopless[O any](dir string, run func(context.Context, outside, *terminal.Screen, O) error) func(context.Context, *desk.Desk, *terminal.Screen, O) error {
	return func(ctx context.Context, d *desk.Desk, out *terminal.Screen, o O) error {
		return run(ctx, around(dir, "", d), out, o)
	}
}

// far is a run function that reaches what is outside the shop: a folder, and
// what is typed while it runs.
func far[O any](dir, typed string, run func(context.Context, *desk.Desk, *terminal.Screen, outside, O) error) func(context.Context, *desk.Desk, *terminal.Screen, O) error {
	return func(ctx context.Context, d *desk.Desk, out *terminal.Screen, o O) error {
		return run(ctx, d, out, around(dir, typed, d), o)
	}
}

func around(dir, typed string, d *desk.Desk) outside {
	return outside{folder(dir), strings.NewReader(typed), desk.Options{Now: d.Now}, func(...string) records.SyncOptions { return records.SyncOptions{Now: d.Now} }}
}

// says holds a run function to what it shows, of which each is a part.
func says[O any](t *testing.T, dir, who string, run func(context.Context, *desk.Desk, *terminal.Screen, O) error, o O, parts ...string) {
	t.Helper()
	text, err := shown(t, dir, who, run, o, terminal.Options{})
	if err != nil || len(parts) == 0 {
		t.Errorf("%+v: %v", o, err)
	}
	for _, p := range parts {
		if !strings.Contains(text, p) {
			t.Errorf("%+v: says\n%s\nwhich lacks %q", o, text, p)
		}
	}
}

// answers holds a run function to the members of its JSON.
func answers[O any](t *testing.T, dir, who string, run func(context.Context, *desk.Desk, *terminal.Screen, O) error, o O, members ...string) {
	t.Helper()
	text, err := shown(t, dir, who, run, o, terminal.Options{JSON: true})
	var got map[string]json.RawMessage
	if err == nil {
		err = json.Unmarshal([]byte(text), &got)
	}
	if err != nil || len(members) == 0 {
		t.Fatalf("%+v: %v\n%s", o, err, text)
	}
	for _, m := range members {
		if _, ok := got[m]; !ok {
			t.Errorf("%+v: the answer lacks %s:\n%s", o, m, text)
		}
	}
}

// listed is the JSON list that a run function answers.
func listed[O any](t *testing.T, dir, who string, run func(context.Context, *desk.Desk, *terminal.Screen, O) error, o O) []json.RawMessage {
	t.Helper()
	text, err := shown(t, dir, who, run, o, terminal.Options{JSON: true})
	var got []json.RawMessage
	if err == nil {
		err = json.Unmarshal([]byte(text), &got)
	}
	if err != nil || got == nil {
		t.Fatalf("%+v: %v\n%s\nwant a list", o, err, text)
	}
	return got
}

// refuses holds a run function to a kind of failure, with nothing shown.
func refuses[O any](t *testing.T, dir, who string, run func(context.Context, *desk.Desk, *terminal.Screen, O) error, o O, kind desk.Kind, text string) {
	t.Helper()
	out, err := shown(t, dir, who, run, o, terminal.Options{})
	var got *desk.Error
	if !errors.As(err, &got) || got.Kind != kind || !strings.Contains(err.Error(), text) || out != "" {
		t.Errorf("%+v: %v and %q, want kind %d, %q, and silence", o, err, out, kind, text)
	}
}

// fails holds a run function to what it says of a failure, whatever it has shown
// before.
func fails[O any](t *testing.T, dir string, run func(context.Context, *desk.Desk, *terminal.Screen, O) error, o O, text string) {
	t.Helper()
	if _, err := shown(t, dir, "tech-1", run, o, terminal.Options{}); err == nil || !strings.Contains(err.Error(), text) {
		t.Errorf("%+v: %v, want %q", o, err, text)
	}
}

func quantityOf[T quantity.Quantity](value, unit string) schema.Q[T] {
	return schema.Write[T](quantity.Written{Value: value, Unit: unit})
}
