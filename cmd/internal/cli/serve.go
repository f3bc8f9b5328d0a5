package cli

import (
	"context"
	"fmt"
	"net"
	"os/signal"
	"strconv"
	"syscall"

	"feedproof/cmd/internal/desk"
	"feedproof/cmd/internal/page"
	"feedproof/cmd/internal/terminal"

	"github.com/spf13/cobra"
)

// serveOptions are the port at which the page is.
type serveOptions struct{ port int }

func newServeCommand(run func(context.Context, serveOptions) error) *cobra.Command {
	var o serveOptions
	c := &cobra.Command{
		Use: "serve", Short: "the page: board, car and guided work in a browser on this machine", Args: asUsed,
		Long: `Serve the page to a browser on this machine alone, until Ctrl-C. The terminal
shows a code that lets one browser in within ten minutes; each person then signs
in with the passphrase of their own key on this machine. A key without a
passphrase is not let in.

Not there yet: other devices on the local network, photos, logs, plan and
sign-off.`,
		Example: "  feedproof serve\n  feedproof serve --port 8500",
		RunE:    func(c *cobra.Command, _ []string) error { return run(c.Context(), o) },
	}
	c.Flags().IntVar(&o.port, "port", 8417, "port on this machine")
	return c
}

const mostPort = 65535

func runServe(ctx context.Context, d *desk.Desk, out *terminal.Screen, world outside, o serveOptions) error {
	if o.port < 1 || o.port > mostPort {
		return wrong("feedproof serve --port 8500", "--port %d: is not between 1 and %d", o.port, mostPort)
	}
	if out.AsJSON() {
		return wrong("feedproof board --json", "serve: talks to a browser and prints no JSON")
	}
	ctx, stop := signal.NotifyContext(ctx, syscall.SIGINT, syscall.SIGTERM)
	defer stop()
	port := strconv.Itoa(o.port)
	l, err := new(net.ListenConfig).Listen(ctx, "tcp", net.JoinHostPort("127.0.0.1", port))
	if err != nil {
		return failed(fmt.Sprintf("feedproof serve --port %d", o.port%mostPort+1), "port %d: cannot be used: %v", o.port, err)
	}
	code := page.Code()
	h := page.New(page.Options{Hosts: []string{"127.0.0.1:" + port, "localhost:" + port}, Code: code, Now: world.options.Now, Open: sitsDown(d.Store().Dir(), world.options)})
	out.Say("http://localhost:%d   code %s, for one browser, 10 minutes", o.port, code)
	return page.Serve(ctx, l, h)
}

// sitsDown opens the shop for a person at the page: only a passphrase that is
// typed there opens a key, and no agent.
func sitsDown(dir string, o desk.Options) func(string, func(string) ([]byte, error)) (*desk.Desk, error) {
	return func(person string, secret func(string) ([]byte, error)) (*desk.Desk, error) {
		return desk.Open(dir, desk.Options{Now: o.Now, As: person, Program: o.Program, Secret: secret})
	}
}
