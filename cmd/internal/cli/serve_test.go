package cli

import (
	"context"
	"testing"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/desktest"
	"feedproof/cmd/internal/terminal"
)

func TestServeOptions(t *testing.T) {
	fills(t, newServeCommand,
		line[serveOptions]{args: "--port|8417", want: serveOptions{port: 8417}},
		line[serveOptions]{args: "--port|8500", want: serveOptions{port: 8500}},
		line[serveOptions]{args: "now", fault: "now: is one word too many"},
	)
}

func TestRunServe(t *testing.T) {
	dir := desktest.Shop(t)
	run := func(ctx context.Context, d *desk.Desk, out *terminal.Screen, o serveOptions) error {
		return runServe(ctx, d, out, outside{}, o)
	}
	refuses(t, dir, "tech-1", run, serveOptions{port: 70000}, desk.Usage, "--port 70000: is not between")
}
