package arrange

import "slices"

// order returns the places of a list in order of rank, the earlier of equals
// first.
func order[T any](list []T, rank func(*T) int) []int {
	const most = 1 << 20
	out := make([]int, len(list)) // rank and place in one number
	for i := range list {
		out[i] = rank(&list[i])*most + i
	}
	slices.Sort(out)
	for k := range out {
		out[k] &= most - 1
	}
	return out
}

// ranked returns a list in order of rank.
func ranked[T any](list []T, rank func(*T) int) []T {
	out := make([]T, len(list))
	for k, i := range order(list, rank) {
		out[k] = list[i]
	}
	return out
}

// few keeps the first n of each class in order of rank. They stand as they stood.
// The classes are few enough to be looked for one by one.
func few[T any, C comparable](list []T, n int, rank func(*T) int, class func(*T) C) []T {
	if len(list) <= n {
		return list
	}
	var classes []C
	var count []int // of each class
	keep, left := make([]bool, len(list)), 0
	for _, i := range order(list, rank) {
		c := class(&list[i])
		k := slices.Index(classes, c)
		if k < 0 {
			k = len(classes)
			classes, count = append(classes, c), append(count, 0)
		}
		if count[k] < n {
			count[k]++
			keep[i] = true
			left++
		}
	}
	out := make([]T, 0, left)
	for i := range list {
		if keep[i] {
			out = append(out, list[i])
		}
	}
	return out
}
