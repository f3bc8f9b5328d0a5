package cli

import (
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
)

func TestVerifyOptions(t *testing.T) {
	fills(t, newVerifyCommand,
		line[verifyOptions]{args: "kestrel", want: verifyOptions{car: "kestrel"}},
		line[verifyOptions]{args: "kestrel|--code|1f5a-68a8-b78b-2913", want: verifyOptions{car: "kestrel", code: "1f5a-68a8-b78b-2913"}},
		line[verifyOptions]{args: "--export|proof", want: verifyOptions{export: "proof"}},
		line[verifyOptions]{args: "kestrel|osprey", fault: "osprey: is one word too many"},
	)
}

// That a sign-off is written out, and that what was tampered with is found, is
// the scripts'.
func TestRunVerify(t *testing.T) {
	dir := desktest.Shop(t)
	run := typedIn(t.TempDir(), runVerify)
	says(t, dir, "tech-1", run, verifyOptions{}, "history verifies: ", "0 sign-offs", "first key SHA256:")
	answers(t, dir, "tech-1", run, verifyOptions{}, "commits", "records", "entries", "head")
	for _, c := range []struct {
		o     verifyOptions
		fault string
	}{
		{verifyOptions{export: "proof"}, "--export: of which car"},
		{verifyOptions{export: "proof", car: "kestrel"}, "kestrel: is not signed off"},
		{verifyOptions{export: "proof", car: "osprey"}, "car osprey: is not in this shop"},
		{verifyOptions{code: "0000-0000-0000-0000"}, "--code: of which car"},
		{verifyOptions{code: "0000-0000-0000-0000", car: "kestrel"}, "belongs to no state of the record of kestrel"},
	} {
		fails(t, dir, run, c.o, c.fault)
	}
	if _, err := desktest.At(t, dir, "tech-1").Proof(desk.Car{}); err == nil {
		t.Error("a car without a record has a proof")
	}
}
