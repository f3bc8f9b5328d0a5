package records

import (
	"context"
	"errors"
	"io"
	"sync/atomic"
	"time"
)

// errSilent says that a server stopped answering.
var errSilent = errors.New("does not answer")

// within runs a conversation and gives up when the other side is silent for too long.
func (r *serverRemote) within(ctx context.Context, talk func(ctx context.Context, alive func()) error) error {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	var last atomic.Int64
	alive := func() { last.Store(time.Now().UnixNano()) }
	alive()
	done := make(chan error, 1)
	go func() { done <- talk(ctx, alive) }()
	look := time.NewTicker(r.patience / 10)
	defer look.Stop()
	for {
		select {
		case err := <-done:
			return err
		case <-ctx.Done():
			return context.Cause(ctx)
		case <-look.C:
			if time.Since(time.Unix(0, last.Load())) > r.patience {
				cancel(errSilent)
			}
		}
	}
}

// watched notes that something still comes.
type watched struct {
	io.Reader
	alive func()
}

func (w *watched) Read(p []byte) (int, error) {
	n, err := w.Reader.Read(p)
	if n > 0 {
		w.alive()
	}
	return n, err
}

// watchedWriter notes that something still goes.
type watchedWriter struct {
	io.Writer
	alive func()
}

func (w *watchedWriter) Write(p []byte) (int, error) {
	n, err := w.Writer.Write(p)
	if n > 0 {
		w.alive()
	}
	return n, err
}
