package arrange

import "slices"

// places holds the order of a list that is not long, so that it need not be allocated.
type places [128]int

// order returns the places of a list in order of rank, the earlier of equals
// first; it may stand in buf.
func order[T any](buf *places, list []T, rank func(*T) int) []int {
	const most = 1 << 20
	out := buf[:0] // rank and place in one number
	for i := range list {
		out = append(out, rank(&list[i])*most+i)
	}
	slices.Sort(out)
	for k := range out {
		out[k] &= most - 1
	}
	return out
}

// ranked returns the first n of a list in order of rank.
func ranked[T any](list []T, n int, rank func(*T) int) []T {
	var buf places
	out := make([]T, min(n, len(list)))
	for k, i := range order(&buf, list, rank)[:len(out)] {
		out[k] = list[i]
	}
	return out
}

// few keeps the first n of each class in order of rank, in the list's own place. They
// stand as they stood. The classes are few enough to be looked for one by one.
func few[T any, C comparable](list []T, n int, rank func(*T) int, class func(*T) C) []T {
	if len(list) <= n {
		return list
	}
	var buf places
	var classes [16]C
	var counts [16]int
	known, count := classes[:0], counts[:0] // of each class
	byRank := order(&buf, list, rank)
	keep := byRank[:0]
	for _, i := range byRank {
		c := class(&list[i])
		k := slices.Index(known, c)
		if k < 0 {
			k = len(known)
			known, count = append(known, c), append(count, 0)
		}
		if count[k] < n {
			count[k]++
			keep = append(keep, i)
		}
	}
	slices.Sort(keep)
	for k, i := range keep {
		list[k] = list[i]
	}
	return list[:len(keep)]
}
