package assets

//go:generate go run ./prepare/engraver

// Engraver returns the engraver's WebAssembly module, or a
// [MissingError] in a program built without it.
func Engraver() ([]byte, error) { return read("the engraver", "engraver.wasm") }
