package perform_test

import (
	"fmt"

	"gradatim/internal/perform"
)

func ExampleParseTempo() {
	for _, s := range []string{"60%", "92", "0%", "fast"} {
		t, err := perform.ParseTempo(s)
		fmt.Println(t, err)
	}
	// Output:
	// {60 0} <nil>
	// {0 92} <nil>
	// {0 0} 0%: say 20% to 300%
	// {0 0} "fast": say a percentage like 60% or beats a minute like 92
}
