package grade

import (
	"slices"
	"testing"

	"gradatim/internal/words"
)

// The typical page of each level stands at its place, and the steps are equal.
func TestMarksAreThePlacesOfLevels(t *testing.T) {
	for _, m := range []marks{fingeredMarks, bareMarks} {
		for k := range m {
			if k > 0 && m[k]-m[k-1] < 20 {
				t.Errorf("level %d at %d, level %d at %d", k, m[k-1], k+1, m[k])
			}
			n := m.place(m[k])
			if n != Number(step*(k+1)) || !slices.Equal(n.Levels(), []int{k + 1}) {
				t.Errorf("the typical page of level %d stands at %d tenths, like levels %v", k+1, n, n.Levels())
			}
		}
	}
}

// Of two sums the higher is never placed lower, inside the ladder and beyond: there the
// two are told apart from far below level 1 to twice the hardest that is known.
// Nothing leaves the scale.
func TestPlaceIsMonotone(t *testing.T) {
	for _, m := range []marks{fingeredMarks, bareMarks} {
		last := Number(0)
		for sum := -20000; sum <= 20000; sum++ {
			n := m.place(sum)
			if n < last || n < 0 || n > top {
				t.Fatalf("%d is placed at %d after %d", sum, n, last)
			}
			last = n
		}
		for sum := m[0] - 600; sum < 2000; sum += 30 {
			if a, b := m.place(sum), m.place(sum+30); a == b {
				t.Errorf("%d and %d are both placed at %d", sum, sum+30, a)
			}
		}
	}
}

func TestPlaceIsSaid(t *testing.T) {
	en, de := words.Must("en"), words.Must("de")
	for _, tt := range []struct {
		n      Number
		number int
		en, de string
	}{
		{0, 0, "below level 1", "unter Niveau 1"},
		{74, 7, "below level 1", "unter Niveau 1"},
		{75, 8, "like level 1", "wie Niveau 1"},
		{125, 13, "like level 1", "wie Niveau 1"},
		{126, 13, "between levels 1 and 2", "zwischen Niveau 1 und 2"},
		{250, 25, "between levels 2 and 3", "zwischen Niveau 2 und 3"},
		{275, 28, "like level 3", "wie Niveau 3"},
		{474, 47, "between levels 4 and 5", "zwischen Niveau 4 und 5"},
		{525, 53, "like level 5", "wie Niveau 5"},
		{526, 53, "above level 5", "über Niveau 5"},
		{1000, 100, "above level 5", "über Niveau 5"},
	} {
		if got := en.Value(tt.n.Place()); got != tt.en {
			t.Errorf("%d: %s, want %s", tt.n, got, tt.en)
		}
		if got := de.Value(tt.n.Place()); got != tt.de {
			t.Errorf("%d: %s, want %s", tt.n, got, tt.de)
		}
		if got := tt.n.Whole(); got != tt.number {
			t.Errorf("%d: %d of 100, want %d", tt.n, got, tt.number)
		}
	}
}
