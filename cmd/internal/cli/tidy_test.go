package cli

import (
	"testing"

	"feedproof/cmd/internal/desktest"
)

func TestShopTidyOptions(t *testing.T) {
	fills(t, newShopTidyCommand, line[noOptions]{args: "all", fault: "all: is one word too many"})
}

func TestRunShopTidy(t *testing.T) {
	dir := desktest.Shop(t)
	says(t, dir, "tech-1", runShopTidy, noOptions{}, "tidied: ", "packed", " MB before, ", " MB after")
	answers(t, dir, "tech-1", runShopTidy, noOptions{}, "packed", "packs", "before", "after")
}
