package records

import (
	"context"
	"path/filepath"
	"strings"
	"testing"

	"feedproof/records/internal/gitfs"
	"feedproof/records/signature"
	"feedproof/schema"

	"golang.org/x/crypto/ssh"
)

// A lead puts the shop's line in place of a branch that was spoiled; what was there stays beside it. All bays use the branch again.
func TestASpoiledBranchIsReplaced(t *testing.T) {
	one, two, stick := bays(t)
	one.synced(stick)
	poison(t, two, stick)
	one.add("car-1", "pump whines")
	one.synced(stick)
	before, err := readRefs(gitfs.New(gitfs.Folder(filepath.Join(stick, gitDir))))
	must(t, err)
	_, err = one.shop.Sync(context.Background(), stick, SyncOptions{
		By: "lead-1", Key: func() (ssh.Signer, error) { return one.keys["lead-1"], nil }, Now: clock, Replace: true,
	})
	must(t, err)
	if r := two.synced(stick); len(r.Aside) > 0 || r.Came.Entries != 1 || two.tree() != one.tree() {
		t.Errorf("two says %+v", r)
	}
	head, err := one.shop.head()
	must(t, err)
	after, err := readRefs(gitfs.New(gitfs.Folder(filepath.Join(stick, gitDir))))
	must(t, err)
	if after[mainRef] != head || after[asideRef(before[mainRef])] != before[mainRef] {
		t.Errorf("the stick has %v", after)
	}
}

// A key that was revoked signs nothing that only comes in now, on however old a fork; what somebody else had merged before stays.
func TestARevokedKeyOnAnOldFork(t *testing.T) {
	one, old, stick := bays(t)
	two := one.clone()
	two.shop.device.Name = "bay-3"
	one.synced(stick)
	two.add("car-1", "made in time")
	_, err := two.syncAs("lead-1", stick)
	must(t, err)
	one.synced(stick)
	must(t, one.put("lead-1", schema.ShopRecord, "", schema.KeyData{
		Person: "tech-1", Key: signature.KeyLine(one.keys["tech-1"].PublicKey()), Action: "revoke", Why: "left the shop",
	}))
	_, err = one.syncAs("lead-1", stick)
	must(t, err)

	old.add("car-1", "made too late")
	head, err := old.shop.head()
	must(t, err)
	overwrite(t, old, stick, head.String())
	report, err := one.syncAs("lead-1", stick)
	must(t, err)
	if len(report.Aside) != 1 || !strings.Contains(report.Aside[0].Reason, "was revoked at counter") {
		t.Errorf("sync says %+v", report.Aside)
	}
	if got := one.committed("car-1"); len(got) != 1 || got[0] != "made in time" {
		t.Errorf("the car has %v", got)
	}
	_, err = one.shop.Verify(context.Background(), nil)
	must(t, err)
}

// What reached one machine before the revocation did is taken by all the others: they would never agree again otherwise.
func TestARevokedKeyThatWasMergedInTime(t *testing.T) {
	one, two, stick := bays(t)
	late := one.clone()
	other := filepath.Join(t.TempDir())
	must(t, one.put("lead-1", schema.ShopRecord, "", schema.KeyData{
		Person: "tech-1", Key: signature.KeyLine(one.keys["tech-1"].PublicKey()), Action: "revoke", Why: "left the shop",
	}))
	_, err := one.syncAs("lead-1", stick)
	must(t, err)
	late.add("car-1", "made in time")
	late.synced(other)
	two.note("car-1", "lead's own")
	_, err = two.commitBy("lead-1", "car-1")
	must(t, err)
	_, err = two.syncAs("lead-1", other)
	must(t, err)
	if report, err := two.syncAs("lead-1", stick); err != nil || len(report.Aside) > 0 {
		t.Errorf("two says %+v, %v", report, err)
	}
	if report, err := one.syncAs("lead-1", stick); err != nil || len(report.Aside) > 0 || one.tree() != two.tree() {
		t.Errorf("one says %+v, %v", report, err)
	}
}

// Nobody whose key is revoked by what comes in merges it: another person does.
func TestARevokedPersonDoesNotMerge(t *testing.T) {
	one, two, stick := bays(t)
	must(t, one.put("lead-1", schema.ShopRecord, "", schema.KeyData{
		Person: "tech-1", Key: signature.KeyLine(one.keys["tech-1"].PublicKey()), Action: "revoke", Why: "left the shop",
	}))
	_, err := one.syncAs("lead-1", stick)
	must(t, err)
	two.add("car-1", "made before it was known")
	before := two.tree()
	if _, err := two.sync(stick); err == nil || !strings.Contains(err.Error(), "was revoked") || two.tree() != before {
		t.Errorf("sync says %v", err)
	}
	_, err = two.syncAs("lead-1", stick)
	must(t, err)
	_, err = one.syncAs("lead-1", stick)
	must(t, err)
	if one.tree() != two.tree() || len(one.committed("car-1")) != 1 {
		t.Error("the bays differ")
	}
	_, err = one.shop.Verify(context.Background(), nil)
	must(t, err)
}
