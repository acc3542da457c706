package harmony

// ParseStyle reads a style's name, as String writes it.
func ParseStyle(s string) (Style, bool) {
	for i, name := range styles {
		if i > 0 && name == s {
			return Style(i), true
		}
	}
	return 0, false
}
