package imprint

import (
	"math"
	"strconv"
)

// luminance is the relative luminance of a colour written #rrggbb: Web Content
// Accessibility Guidelines 2.2, definition of relative luminance.
func luminance(hex string) (float64, bool) {
	if len(hex) != 7 || hex[0] != '#' {
		return 0, false
	}
	n, err := strconv.ParseUint(hex[1:], 16, 32)
	if err != nil {
		return 0, false
	}
	part := func(v uint64) float64 {
		c := float64(v&255) / 255
		if c <= 0.04045 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	return 0.2126*part(n>>16) + 0.7152*part(n>>8) + 0.0722*part(n), true
}

// Contrast is the contrast ratio of two colours, 1 to 21; 0 where one is none (the same
// guidelines, definition of contrast ratio).
func Contrast(a, b string) float64 {
	x, ok1 := luminance(a)
	y, ok2 := luminance(b)
	if !ok1 || !ok2 {
		return 0
	}
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}
