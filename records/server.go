package records

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"path"
	"strings"
	"time"

	"feedproof/records/internal/gitfs"
	"feedproof/records/internal/packs"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/format/packfile"
	"github.com/go-git/go-git/v5/plumbing/protocol/packp"
	"github.com/go-git/go-git/v5/plumbing/protocol/packp/capability"
	"github.com/go-git/go-git/v5/plumbing/protocol/packp/sideband"
	"github.com/go-git/go-git/v5/plumbing/storer"
	"github.com/go-git/go-git/v5/plumbing/transport"
	githttp "github.com/go-git/go-git/v5/plumbing/transport/http"
	gitssh "github.com/go-git/go-git/v5/plumbing/transport/ssh"
	"github.com/go-git/go-git/v5/storage/memory"
	"golang.org/x/crypto/ssh"
)

// incomingDir is where what a server sends waits to be judged. What a dead process left there goes after a day.
const (
	incomingDir  = "cache/incoming"
	incomingDays = 24 * time.Hour
)

// maxPackBytes is how much a server may send at once.
const maxPackBytes = 8 << 30

// serverRemote is a repository on a git server, over ssh or http. Only the new objects travel: what both sides have is known from the
// commits, and the whole history is never walked.
type serverRemote struct {
	name     string
	shop     *Shop
	at       *transport.Endpoint
	client   transport.Transport
	auth     transport.AuthMethod
	patience time.Duration
	session  transport.UploadPackSession // from the listing of references until the fetch
	caps     *capability.List
	staged   *Shop // where what came in waits
}

// openServer prepares a connection; the first use makes it.
func (s *Shop) openServer(name string, o SyncOptions) (*serverRemote, error) {
	at, err := transport.NewEndpoint(name)
	if err != nil {
		return nil, &RemoteError{Remote: Redacted(name), Reason: err}
	}
	r := &serverRemote{name: Redacted(name), shop: s, at: at, patience: o.Patience}
	if r.patience == 0 {
		r.patience = time.Minute
	}
	switch at.Protocol {
	case "ssh":
		user := at.User
		if user == "" {
			user = gitssh.DefaultUsername
		}
		r.client = gitssh.NewClient(nil)
		r.auth = &gitssh.PublicKeysCallback{User: user, Callback: func() ([]ssh.Signer, error) {
			if o.Identities == nil {
				return nil, nil
			}
			return o.Identities(), nil
		}}
	case "https", "http":
		r.client = githttp.NewClient(nil)
		if at.User != "" && at.Password == "" {
			at.Password = o.Password
		}
	default:
		return nil, &RemoteError{Remote: r.name, Reason: fmt.Errorf("%s is no way to reach a shop", at.Protocol), Fix: "use a folder, ssh://, host:path, https:// or http://"}
	}
	return r, nil
}

// Redacted is a remote's name without a password in it.
func Redacted(name string) string {
	if u, err := url.Parse(name); err == nil && u.User != nil {
		return u.Redacted()
	}
	return name
}

// refs lists the references. The connection stays open for the fetch.
func (r *serverRemote) refs(ctx context.Context) (refs, error) {
	r.drop()
	var session transport.UploadPackSession
	var offered *packp.AdvRefs
	err := r.within(ctx, func(ctx context.Context, _ func()) error {
		s, err := r.client.NewUploadPackSession(r.at, r.auth)
		if err != nil {
			return err
		}
		o, err := s.AdvertisedReferencesContext(ctx)
		if err != nil {
			_ = s.Close() // the first error counts
			return err
		}
		session, offered = s, o
		return nil
	})
	all := refs{}
	if errors.Is(err, transport.ErrEmptyRemoteRepository) {
		return all, nil
	}
	if err != nil {
		return nil, r.plain(err)
	}
	r.session, r.caps = session, offered.Capabilities
	for name, hash := range offered.References {
		all[plumbing.ReferenceName(name)] = hash
	}
	return all, nil
}

// fetch receives a pack of what the shop does not have into a folder of its own, and refuses one that would burst before unpacking it.
func (r *serverRemote) fetch(ctx context.Context, want, have []plumbing.Hash) (storer.EncodedObjectStorer, error) {
	lacking, err := r.lacking(want, have)
	if err != nil || len(lacking) == 0 {
		return memory.NewStorage(), err
	}
	req := packp.NewUploadPackRequestFromCapabilities(r.caps)
	req.Wants = lacking
	if req.Haves, err = recent(r.shop.store, have); err != nil {
		return nil, err
	}
	staged, err := r.stage()
	if err != nil {
		return nil, err
	}
	session := r.session
	r.session = nil // its stream is read to the end
	err = r.within(ctx, func(ctx context.Context, alive func()) error {
		answer, err := session.UploadPack(ctx, req)
		if err != nil {
			_ = session.Close() // the first error counts
			return err
		}
		defer answer.Close()
		return receivePack(staged, &watched{demuxed(req.Capabilities, answer), alive})
	})
	if answeredEarly(err) {
		return nil, errMoved
	}
	if err != nil {
		return nil, r.plain(err)
	}
	return foreign{staged.store, staged.git}, nil
}

// answeredEarly reports a server that was done before this end had said that it asks no more. go-git takes that for an error, and the answer
// is lost: the exchange begins again.
func answeredEarly(err error) bool {
	return err != nil && strings.HasSuffix(err.Error(), "closing input: "+io.EOF.Error())
}

// lacking is the tips that do not lie behind what the shop has.
func (r *serverRemote) lacking(want, have []plumbing.Hash) ([]plumbing.Hash, error) {
	if len(have) == 0 {
		return want, nil
	}
	var all []plumbing.Hash
	for _, tip := range want {
		l, err := apart(r.shop.store, have, []plumbing.Hash{tip})
		if err != nil {
			return nil, err
		}
		if !l.holds(tip) {
			all = append(all, tip)
		}
	}
	return all, nil
}

// Haves that are sent: so many of the last commits, from there on each twice as far back, and none beyond.
const (
	recentHaves = 128
	mostHaves   = 4096
)

// recent is commits from which a server finds what both have.
func recent(store storer.EncodedObjectStorer, have []plumbing.Hash) ([]plumbing.Hash, error) {
	var all []plumbing.Hash
	seen := map[plumbing.Hash]bool{}
	next := have
	skip := 1
	for n := 1; len(next) > 0 && n <= mostHaves; n++ {
		at := next[0]
		next = next[1:]
		if seen[at] {
			continue
		}
		seen[at] = true
		c, err := readCommit(store, at)
		if err != nil {
			return nil, err
		}
		if n <= recentHaves || n == recentHaves+skip {
			all = append(all, at)
		}
		if n == recentHaves+skip {
			skip *= 2
		}
		if n <= recentHaves || len(next) == 0 {
			next = append(next, c.ParentHashes...)
		}
	}
	return all, nil
}

func demuxed(caps *capability.List, in io.Reader) io.Reader {
	switch {
	case caps.Supports(capability.Sideband64k):
		return sideband.NewDemuxer(sideband.Sideband64k, in)
	case caps.Supports(capability.Sideband):
		return sideband.NewDemuxer(sideband.Sideband, in)
	}
	return in
}

// stage makes an empty repository for what comes in.
func (r *serverRemote) stage() (*Shop, error) {
	r.sweep()
	if err := r.shop.disk.MkdirAll(incomingDir, 0); err != nil {
		return nil, err
	}
	r.unstage()
	staged, err := attachTo(r.shop.dir, r.shop.disk, path.Join(incomingDir, fmt.Sprintf("%d-%d", os.Getpid(), time.Now().UnixNano())))
	if err != nil {
		return nil, err
	}
	r.staged = staged
	return staged, staged.git.MkdirAll(packDir, 0)
}

// receivePack writes what comes in to a file, scans it, and only then has it unpacked and indexed.
func receivePack(staged *Shop, in io.Reader) error {
	temp, err := staged.git.TempFile(packDir, gitfs.TempPrefix)
	if err != nil {
		return err
	}
	n, err := io.Copy(temp, io.LimitReader(in, maxPackBytes+1))
	if closed := temp.Close(); err == nil {
		err = closed
	}
	if err == nil && n > maxPackBytes {
		err = fmt.Errorf("sends more than %d GB at once", maxPackBytes>>30)
	}
	if err != nil {
		return err
	}
	pack, err := staged.git.Open(temp.Name())
	if err != nil {
		return err
	}
	err = scanPack(pack, n)
	if closed := pack.Close(); err == nil {
		err = closed
	}
	if err != nil {
		return err
	}
	return packs.Place(staged.git, temp.Name())
}

// push sends the objects as one pack and has the server move its references.
func (r *serverRemote) push(ctx context.Context, from storer.EncodedObjectStorer, objects []plumbing.Hash, moves []move, progress func(done, total int)) error {
	r.drop()
	err := r.within(ctx, func(ctx context.Context, alive func()) error {
		session, err := r.client.NewReceivePackSession(r.at, r.auth)
		if err != nil {
			return err
		}
		defer session.Close()
		offered, err := session.AdvertisedReferencesContext(ctx)
		if err != nil {
			return err
		}
		req := packp.NewReferenceUpdateRequestFromCapabilities(offered.Capabilities)
		for _, m := range moves {
			if offered.References[string(m.ref)] != m.old {
				return errMoved
			}
			req.Commands = append(req.Commands, &packp.Command{Name: m.ref, Old: m.old, New: m.new})
		}
		in, out := io.Pipe()
		defer in.Close()
		req.Packfile = in
		go func() {
			_, err := packfile.NewEncoder(&watchedWriter{out, alive}, checked{from}, false).Encode(objects, deltaWindow)
			_ = out.CloseWithError(err)
		}()
		_, err = session.ReceivePack(ctx, req)
		return err
	})
	if err == nil && progress != nil {
		progress(len(objects), len(objects))
	}
	return r.refused(ctx, err, moves)
}

// refused tells a remote that somebody else moved from one that says no.
func (r *serverRemote) refused(ctx context.Context, err error, moves []move) error {
	if err == nil || errors.Is(err, errMoved) || ctx.Err() != nil {
		return err
	}
	now, failed := r.refs(ctx)
	if failed == nil {
		for _, m := range moves {
			if now[m.ref] != m.old {
				return errMoved
			}
		}
	}
	if text := err.Error(); strings.Contains(text, "lock") || strings.Contains(text, "non-fast-forward") {
		return errMoved
	}
	return r.plain(err)
}

func (r *serverRemote) close() error {
	r.drop()
	r.unstage()
	return nil
}

// drop ends the connection that was kept for a fetch.
func (r *serverRemote) drop() {
	if r.session != nil {
		_ = r.session.Close() // nothing was asked of it
		r.session = nil
	}
}

// unstage removes what came in: what was good has been copied.
func (r *serverRemote) unstage() {
	if r.staged != nil {
		_ = r.staged.store.packs.Close()                             // it was only read
		_ = os.RemoveAll(path.Join(r.shop.dir, r.staged.git.Root())) // swept later otherwise
		r.staged = nil
	}
}

// sweep removes what dead processes left.
func (r *serverRemote) sweep() {
	left, err := r.shop.disk.ReadDir(incomingDir)
	if err != nil {
		return
	}
	for _, f := range left {
		if time.Since(f.ModTime()) > incomingDays {
			_ = os.RemoveAll(path.Join(r.shop.dir, incomingDir, f.Name()))
		}
	}
}

// plain says what is wrong with a server, and what mends it.
func (r *serverRemote) plain(err error) error {
	if err == nil || errors.Is(err, errMoved) || errors.Is(err, context.Canceled) {
		return err
	}
	fix := ""
	text := err.Error()
	switch {
	case errors.Is(err, errSilent):
		fix = "look at the network and sync again; nothing was lost"
	case errors.Is(err, transport.ErrRepositoryNotFound):
		fix = "make an empty repository there: git init --bare, or on the host's page"
	case errors.Is(err, transport.ErrAuthenticationRequired), errors.Is(err, transport.ErrAuthorizationFailed):
		fix = "put the user into the address, https://USER@HOST/PATH, and the password or token into FEEDPROOF_PASSWORD"
	case strings.Contains(text, "knownhosts: key is unknown"), strings.Contains(text, "known_hosts"):
		fix = "connect once by hand, ssh HOST, and compare the fingerprint it shows with the server's"
	case strings.Contains(text, "knownhosts: key mismatch"):
		fix = "do not go on: another machine answers under that name; ask who runs the server"
	case strings.Contains(text, "unable to authenticate"):
		fix = "give the server one of these public keys: ssh-add -L, or keys/PERSON.pub"
	}
	return &RemoteError{Remote: r.name, Reason: err, Fix: fix}
}
