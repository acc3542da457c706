package teach

import "gradatim/internal/technique"

// Makes tells whether a kind of drill has its makers.
func Makes(d technique.Drill) bool { return len(makers[d]) > 0 }
