package teach

// Bars names bars by their printed numbers, runs drawn together: "bar 3", "bars
// 1–4 and 9", "the pick-up and bar 1".
func Bars(bars []int) string { return barList(bars) }
