# What a developer runs. CI runs `make test`.
#
#   make demo    arrange the demo tune; the results are under out/demo
#   make test    all checks
#   make soak    the long forms of the tests, fuzzing, all benchmarks: an hour or more
#   make mutants change the deciding code here and there: which change does no test find?
#   make profile count our pages beside printed ones, into docs/profile.md
#   make sound   play the trial piece, FluidSynth beside it, and print its table (docs/sound.md)
#   make bench   measure; docs/performance.md says what to compare
#   make chords  fit what is known of chords to the shared lead sheets anew
#   make weights fit the costs of the left hand to printed pages anew
#   make build   bin/gradatim
#   make dist    the program as one file each for macOS, Windows and Linux, under out/dist
#   make sbom    bills of materials, under out/sbom
#   make assets  engraver, piano and letters, from pinned packages
#   make tools   Debian packages for all of it

# The demo needs nothing of Debian beyond Go, Node and make; the tests compare
# with programs made by others, and the race detector needs a C compiler.
DEMO_PACKAGES = ca-certificates
TEST_PACKAGES = $(DEMO_PACKAGES) git gcc libc6-dev abcmidi chromium ffmpeg fluid-soundfont-gm \
	fluidsynth imagemagick libxml2-utils lilypond midicsv mpg123 poppler-utils postgresql qpdf sox \
	webkit2gtk-driver xvfb

.PHONY: tools assets build dist sbom demo test soak mutants bench chords weights profile sound

tools:
	@.ci/tools $(TEST_PACKAGES)

assets: assets/data/engraver.wasm assets/data/piano.bank assets/data/fonts/signs.ttf

build: assets
	go build -trimpath -ldflags="-s -w" -o bin/gradatim ./cmd/gradatim

dist: assets
	go run ./.ci/dist

sbom: build
	@.ci/sbom

demo:
	@.ci/tools $(DEMO_PACKAGES)
	@$(MAKE) --no-print-directory build
	@.ci/demo

test: tools assets
	@.ci/test

soak: tools assets
	@.ci/soak

mutants: assets
	go run ./.ci/mutants -n 250

chords:
	go test ./internal/harmonist -run TestTable -update -count 1

weights:
	go test ./internal/arrange -run TestWeights -weights -count 1

profile: build
	@.ci/profile

sound: assets
	go test ./internal/studio -run TestTrial -v -count 1 -args -table

bench: assets
	go test -run '^$$' -bench . -benchmem ./...

node_modules/.package-lock.json: package.json package-lock.json
	npm ci --ignore-scripts --no-progress
	@touch $@

code = $(filter-out %_test.go,$(wildcard $(1)))

assets/data/engraver.wasm: node_modules/.package-lock.json $(call code,assets/prepare/engraver/*.go internal/engrave/module/*.go)
	go generate -run prepare/engraver ./assets
	@touch $@

assets/data/piano.bank: node_modules/.package-lock.json $(call code,assets/prepare/piano/*.go internal/sound/bank/*.go internal/sound/measure/*.go)
	go generate -run prepare/piano ./assets
	@touch $@

assets/data/fonts/signs.ttf: node_modules/.package-lock.json go.sum $(call code,assets/prepare/fonts/*.go)
	go generate -run prepare/fonts ./assets
	@touch $@
