// Package markup reads what a MusicXML file is written on: the archive and the
// encoding it comes in (text.go), XML that costs no more than it may (scan.go,
// cursor.go), the parts and bars of a score, whichever of them is the outer one
// (walk.go), and the words of a chord symbol (harmony.go).
//
// It knows elements and no music: what a note or chord means is for those who
// read scores and those who print them. Files come from strangers, so size, depth
// and repetition are bounded and entities are never expanded.
package markup

// What is accepted at most. A page of music stays far below; a file that goes
// beyond is refused with a placed error before it can fill the memory.
const (
	MaxInput     = 32 << 20 // bytes of a file, and of the score inside a compressed one
	maxContainer = 64 << 10 // bytes of META-INF/container.xml
	maxEntries   = 1000     // files in a compressed file
	maxRatio     = 400      // unpacked to packed size, where the unpacked is above freeRatio
	freeRatio    = 4 << 20  // bytes that may be packed as tightly as they like
	maxDepth     = 64       // elements inside one another; MusicXML needs about 12
	maxElements  = 1_000_000
	maxTag       = 64 << 10 // bytes of one tag
	maxText      = 1 << 20  // bytes of text between two tags, or of a comment
)
