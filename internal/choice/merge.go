package choice

import "slices"

// Besides returns what of some choices can stay when others are made: those that
// contradict none of them.
func Besides(old, made []Choice) []Choice {
	return slices.DeleteFunc(slices.Clone(old), func(a Choice) bool {
		return slices.ContainsFunc(made, func(b Choice) bool {
			return a.Level == b.Level && a.At < b.Until && b.At < a.Until && contradict(a.Fix, b.Fix) != ""
		})
	})
}
