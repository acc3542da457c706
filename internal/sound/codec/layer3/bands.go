package layer3

// Scale factor bands at 48 kHz: where each begins (the standard, table B.8.b). The last of
// each kind has no scale factor.
var (
	longBands  = [23]int16{0, 4, 8, 12, 16, 20, 24, 30, 36, 42, 50, 60, 72, 88, 106, 128, 156, 190, 230, 276, 330, 384, 576}
	shortBands = [14]int{0, 4, 8, 12, 16, 22, 28, 38, 50, 64, 80, 100, 126, 192}
)

const maxBands = 39

// A layout is how the bands of a block lie in its 576 lines; short blocks have each band
// three times, once for each window.
type layout struct {
	edges   []int16
	factors int // bands with a scale factor
	first   int // of these, written with the first of two lengths
}

var layouts = [2]layout{
	{edges: longBands[:], factors: 21, first: 11},
	{edges: func() []int16 {
		e := []int16{0}
		for b := range len(shortBands) - 1 {
			for range 3 {
				e = append(e, e[len(e)-1]+int16(shortBands[b+1]-shortBands[b]))
			}
		}
		return e
	}(), factors: 36, first: 18},
}

func layoutOf(kind int) *layout {
	if kind == short {
		return &layouts[1]
	}
	return &layouts[0]
}

// thirdBands are the bands of a short block, all windows together: of these only the border
// at 36 counts. The rest is filled up so that both kinds have 22 bands.
var thirdBands = func() (e [23]int16) {
	for i := range e {
		e[i] = granule
		if i < len(shortBands) {
			e[i] = int16(3 * shortBands[i])
		}
	}
	return e
}()

// borderShort is the band at which region 1 begins where windows are switched.
func borderShort(edges *[23]int16) int {
	for i, e := range edges {
		if e == 36 {
			return i
		}
	}
	panic("no band begins at line 36")
}
