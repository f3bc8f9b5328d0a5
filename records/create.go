package records

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"time"

	"feedproof/records/internal/gitfs"
	"feedproof/records/signature"
	"feedproof/schema"

	"github.com/go-git/go-git/v5/plumbing"
	"github.com/go-git/go-git/v5/plumbing/object"
	"golang.org/x/crypto/ssh"
)

// CreateOptions is what a new shop begins with.
type CreateOptions struct {
	ID     string            // id of the shop's own record
	First  string            // id of its first entry; empty for a new one
	Lead   schema.PersonData // the first person; Key is filled in from the signer
	Key    ssh.Signer        // the first person's key: all later trust rests on it
	Device Device            // this machine; Pinned and an empty Who are filled in
	Now    func() time.Time  // nil for the clock
}

// Create makes a shop in a folder, which may exist, and opens it. Its first commit holds the shop's record with the first lead's person
// entry, signed with the key that is pinned from then on. No git program is needed.
func Create(dir string, o CreateOptions) (*Shop, error) { return create(dir, gitfs.Folder(dir), o) }

func create(dir string, d gitfs.Disk, o CreateOptions) (*Shop, error) {
	s, err := attach(dir, d)
	if err != nil {
		return nil, err
	}
	if err := s.layOut(dir); err != nil {
		return nil, err
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	o.Lead.Key = signature.KeyLine(o.Key.PublicKey())
	o.Device.Pinned = signature.Fingerprint(o.Key.PublicKey())
	if o.Device.Who == "" {
		o.Device.Who = o.Lead.Person
	}
	if err := s.SetDevice(o.Device); err != nil {
		return nil, err
	}
	release, err := s.lock(context.Background(), gitDir)
	if err != nil {
		return nil, err
	}
	defer release()
	return s, s.begin(o)
}

// layOut makes the folders and the files git wants, unless a shop is there.
func (s *Shop) layOut(dir string) error {
	if _, err := s.head(); err == nil {
		return fmt.Errorf("%s: is a shop already", dir)
	}
	for _, folder := range []string{draftsDir, keysDir} {
		if err := s.disk.MkdirAll(folder, 0); err != nil {
			return err
		}
	}
	return s.layOutRepository()
}

// layOutRepository makes an empty bare repository.
func (s *Shop) layOutRepository() error {
	for _, folder := range []string{"objects/info", "objects/pack", "refs/heads", "refs/tags"} {
		if err := s.git.MkdirAll(folder, 0); err != nil {
			return err
		}
	}
	if err := s.git.WriteFile("config", []byte("[core]\n\trepositoryformatversion = 0\n\tfilemode = true\n\tbare = true\n"), 0o644); err != nil {
		return err
	}
	return s.git.WriteFile("HEAD", []byte("ref: "+string(mainRef)+"\n"), 0o644)
}

// begin writes the first commit.
func (s *Shop) begin(o CreateOptions) error {
	now := o.Now()
	w := newWriter(Shown{Record: schema.NewRecord(schema.ShopRecord, o.ID)}, s.device.Pinned, s.device.Name)
	first, err := w.write(Fact{ID: o.First, By: o.Lead.Person, Key: o.Key, Entered: now, Data: o.Lead})
	if err != nil {
		return err
	}
	own := schema.NewRecord(schema.ShopRecord, o.ID).With(first)
	if err := own.Validate(); err != nil {
		return err
	}
	if err := signature.NewRoster(own).MaySign(o.Lead.Person, first); err != nil {
		return &RoleError{Person: o.Lead.Person, Entry: first.ID, Reason: err}
	}
	root, err := s.writeText(plumbing.ZeroHash, attributesFile, []byte(attributes))
	if err != nil {
		return err
	}
	if root, err = s.writeText(root, shopFile, own.Encode()); err != nil {
		return err
	}
	who := author(o.Lead, now)
	commit, err := writeCommit(s.store, &object.Commit{Author: who, Committer: who, Message: "shop " + own.ID + ": begin\n", TreeHash: root}, o.Key)
	if err != nil {
		return err
	}
	if err := s.fresh.Sync(); err != nil {
		return err
	}
	err = s.git.WriteNew(string(mainRef), []byte(commit.String()+"\n"), 0o644)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s: is a shop already", s.dir)
	}
	return err
}

// writeText puts a file with this content into a tree.
func (s *Shop) writeText(root plumbing.Hash, path string, content []byte) (plumbing.Hash, error) {
	blob, err := writeBlob(s.store, content)
	if err != nil {
		return plumbing.ZeroHash, err
	}
	return writeFile(s.store, root, path, blob)
}
