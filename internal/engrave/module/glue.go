package module

import (
	"errors"
	"regexp"
)

// names maps the short names in the module to those of the C source.
type names struct{ imports, exports map[string]string }

var (
	reImports = regexp.MustCompile(`var wasmImports=\{([^}]*)\}`)
	rePair    = regexp.MustCompile(`([\w$]+):_([\w$]+)`)
	reExport  = regexp.MustCompile(`(?:[{;,]|\b)_([\w$]+)=(?:Module\["[\w$]+"\]=)?wasmExports\["([\w$]+)"\]`)
	reCtors   = regexp.MustCompile(`[;{}]wasmExports\["([\w$]+)"\]\(\)`)
	reMemory  = regexp.MustCompile(`memory=wasmMemory=wasmExports\["([\w$]+)"\]`)
)

// parseGlue reads the names from the script around the module. It relies on
// the shapes that the compiler of the package writes; a new release that
// writes others is refused here.
func parseGlue(js []byte) (names, error) {
	n := names{map[string]string{}, map[string]string{}}
	imports, ctors, memory := reImports.FindSubmatch(js), reCtors.FindSubmatch(js), reMemory.FindSubmatch(js)
	switch {
	case imports == nil:
		return n, errors.New("no table of imports")
	case ctors == nil:
		return n, errors.New("no call of the constructors")
	case memory == nil:
		return n, errors.New("no memory")
	}
	for _, p := range rePair.FindAllSubmatch(imports[1], -1) {
		n.imports[string(p[1])] = string(p[2])
	}
	for _, p := range reExport.FindAllSubmatch(js, -1) {
		n.exports[string(p[2])] = string(p[1])
	}
	n.exports[string(ctors[1])] = "__wasm_call_ctors"
	n.exports[string(memory[1])] = "memory"
	return n, nil
}
