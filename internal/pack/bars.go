package pack

import "gradatim/internal/words"

// barsText names bars by their printed numbers.
func barsText(bars []int) string { return words.Must(words.Default).Value(words.Bars(bars)) }
