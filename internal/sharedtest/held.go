package sharedtest

import (
	"cmp"
	"crypto/sha256"
	"fmt"
	"slices"
)

// HeldSheets is how many of the shared sheets are held back.
const HeldSheets = 40

// HeldBack returns those of the shared sheets, by path in data/leadsheets, that nobody
// tunes by: the 40 with the lowest SHA-256 of their path. Figures of these beside those of
// the others say whether something was learned by heart.
func HeldBack(sheets []string) map[string]bool {
	order := slices.Clone(sheets)
	hash := func(s string) string { return fmt.Sprintf("%x", sha256.Sum256([]byte(s))) }
	slices.SortFunc(order, func(a, b string) int { return cmp.Compare(hash(a), hash(b)) })
	held := map[string]bool{}
	for _, s := range order[:min(HeldSheets, len(order))] {
		held[s] = true
	}
	return held
}
