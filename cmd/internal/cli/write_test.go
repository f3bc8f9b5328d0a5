package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/cmd/internal/terminal"
	"feedproof/schema"
)

// What was written before the next fact failed stands in the one answer, with
// the failure; and where nothing was written there is the failure alone.
func TestShowEachFailsMidway(t *testing.T) {
	d := desktest.At(t, desktest.Shop(t), "tech-1")
	for _, before := range []int{0, 1, 2} {
		var out bytes.Buffer
		screen := terminal.New(&out, io.Discard, terminal.Options{JSON: true})
		err := showEach(screen, func(yield func(desk.Recorded, error) bool) {
			for range before {
				if !yield(recordOn(d, "kestrel", d.Now(), schema.NoteData{Text: "x"})) {
					return
				}
			}
			yield(desk.Recorded{}, errors.New("the disk is full"))
		})
		exit := report(screen, err)
		var got struct {
			Error string
			Done  []recordedJSON
		}
		if err := json.Unmarshal(out.Bytes(), &got); err != nil || exit != exitFailed || got.Error != "the disk is full" || len(got.Done) != before {
			t.Errorf("%d written before: exit %d, %v: %s", before, exit, err, out.String())
		}
	}
}

// A command that would answer twice fails, and answers once.
func TestAnswersOnce(t *testing.T) {
	var out bytes.Buffer
	screen := terminal.New(&out, io.Discard, terminal.Options{JSON: true})
	err := errors.Join(screen.JSON(1), screen.JSON(2))
	if err == nil || report(screen, err) != exitFailed || !json.Valid(out.Bytes()) {
		t.Errorf("%v: %s", err, out.String())
	}
}
