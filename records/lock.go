package records

import (
	"context"
	"errors"
	"path/filepath"
	"time"

	"github.com/gofrs/flock"
)

// writerWait is how long a writer waits for another one.
const writerWait = 3 * time.Second

const lockPoll = 5 * time.Millisecond

// lock takes a lock that other processes respect and the system releases when its process dies.
func (s *Shop) lock(ctx context.Context, dir string) (release func(), err error) {
	if s.device.Copy {
		return nil, &CopyError{s.dir}
	}
	l := s.lockFile(dir)
	waiting, cancel := context.WithTimeout(ctx, s.wait)
	defer cancel()
	_, err = l.TryLockContext(waiting, lockPoll)
	if err == nil {
		return func() { _ = l.Close() }, nil
	}
	if errors.Is(err, context.DeadlineExceeded) && ctx.Err() == nil {
		return nil, &BusyError{What: l.Path(), Hint: "try again in a moment"}
	}
	return nil, err
}

// tryLock takes the lock when nobody has it, without waiting.
func (s *Shop) tryLock(dir string) (release func(), got bool) {
	l := s.lockFile(dir)
	got, err := l.TryLock()
	return func() { _ = l.Close() }, got && err == nil
}

func (s *Shop) lockFile(dir string) *flock.Flock {
	return flock.New(filepath.Join(s.dir, dir, "feedproof.lock"))
}
