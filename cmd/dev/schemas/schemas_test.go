package schemas

import (
	"os"
	"path/filepath"
	"testing"

	"feedproof/schema"

	"github.com/google/go-cmp/cmp"
)

// The schemas in the repository are those that are written now.
func TestSchemasAreWritten(t *testing.T) {
	now := t.TempDir()
	t.Chdir("../../../schema")
	if err := Run([]string{now}, nil); err != nil {
		t.Fatal(err)
	}
	for _, kind := range schema.RecordKinds {
		name := string(kind) + ".schema.json"
		want, err := os.ReadFile(filepath.Join(now, name))
		if err != nil {
			t.Fatal(err)
		}
		got, err := os.ReadFile(filepath.Join("v1", name))
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(string(want), string(got)); diff != "" {
			t.Errorf("schema/v1/%s: go generate ./schema writes (-) and not (+):\n%s", name, diff)
		}
	}
}
