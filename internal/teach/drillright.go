package teach

import (
	"fmt"

	"gradatim/internal/technique"
)

// onScale makes a drill on the first notes of the scale; key names its words.
func onScale(key string) maker {
	return func(w *writer, p *page, t *technique.Technique, n New) (made, bool) {
		s, notes, ok := w.study(p).OnScale(t)
		if !ok {
			return made{}, false
		}
		if len(t.Find(s)) == 0 {
			return w.fromPage(p, t, n)
		}
		parts := []any{"Notes", w.say(fmt.Sprintf("drill.first-notes.%d", notes), "Key", w.key)}
		switch t.Drill {
		case technique.OrnamentedScale:
			parts = append(parts, "How", w.words.Say("technique."+t.ID+".scale"))
		case technique.BlockScale: // on the tonic, then between
			parts = append(parts, "Sixth", s.Chords[0].Chord, "Diminished", s.Chords[1].Chord)
		}
		return w.made(t, key, dressed(p, s), parts...), true
	}
}
