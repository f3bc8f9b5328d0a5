package records

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"path"
	"strings"

	"feedproof/schema"
)

// Names in a shop's folder.
const (
	gitDir     = "shop.git"
	draftsDir  = "drafts"
	keptDir    = draftsDir + "/evidence" // files whose entry is not committed yet
	keysDir    = "keys"
	deviceFile = "device.json"
)

// Names in the tree of a commit.
const (
	shopFile       = "shop.json"
	attributesFile = ".gitattributes"
	evidenceDir    = "evidence"
	jsonExt        = ".json"
)

// attributes keep an ordinary clone from converting line ends, which would change the bytes of entries and of evidence.
const attributes = "* -text\n"

// folders holds the records of each kind but the shop's own. Sharded ones have 256 folders below, so that a commit rebuilds small trees.
var folders = map[schema.RecordKind]struct {
	name    string
	sharded bool
}{
	schema.VehicleRecord: {"vehicles", true},
	schema.PartRecord:    {"parts", true},
	schema.GaugeRecord:   {"gauges", false},
}

// recordPath is where a record stands in the tree. The shop has one record of its own, whatever its id.
func recordPath(kind schema.RecordKind, id string) (string, error) {
	if kind == schema.ShopRecord {
		return shopFile, nil
	}
	folder, known := folders[kind]
	if !known {
		return "", fmt.Errorf("record kind %q: is unknown", kind)
	}
	if !schema.ValidID(id) {
		return "", fmt.Errorf("%s %q: is not an id: use up to 64 letters, digits, dots, dashes and underscores", kind, id)
	}
	if folder.sharded {
		return path.Join(folder.name, shard(id), id+jsonExt), nil
	}
	return path.Join(folder.name, id+jsonExt), nil
}

// shard spreads ids over 256 folders by their hash, as ids made in the same years begin alike. Ids that differ only in case share a
// folder, where the clash is seen.
func shard(id string) string {
	sum := sha256.Sum256([]byte(strings.ToLower(id)))
	return hex.EncodeToString(sum[:1])
}

// draftPath is where the draft of a vehicle stands in the shop's folder.
func draftPath(vehicle string) string { return path.Join(draftsDir, vehicle+".jsonl") }

// tornPath is where broken lines of a draft are kept aside.
func tornPath(vehicle string) string { return path.Join(draftsDir, vehicle+".torn") }

// keptPath is where a file stands until its entry is committed.
func keptPath(sum string) string { return path.Join(keptDir, sum) }

// evidencePath is where it stands in the tree of a commit from then on.
func evidencePath(sum string) string { return path.Join(evidenceDir, sum[:2], sum) }
