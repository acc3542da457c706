package choice

import (
	"slices"

	"gradatim/internal/technique"
)

// Besides returns the old choices that can hold beside new ones: those that no new one
// contradicts or, of textures, covers.
func Besides(old, made []Choice) []Choice {
	return slices.DeleteFunc(slices.Clone(old), func(a Choice) bool {
		return slices.ContainsFunc(made, func(b Choice) bool {
			if a.Level != b.Level || a.At >= b.Until || b.At >= a.Until {
				return false
			}
			return contradict(a.Fix, b.Fix) != "" || texture(a.Fix) && texture(b.Fix) && b.At <= a.At && a.Until <= b.Until
		})
	})
}

// texture tells whether a fix asks for a left-hand texture.
func texture(f Fix) bool {
	use, ok := f.(Use)
	if !ok {
		return false
	}
	t, ok := technique.ByID(use.Technique)
	return ok && t.Stage == technique.LeftHand
}
