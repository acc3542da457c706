//go:build race

package musicxml

func init() { raceEnabled = true }
