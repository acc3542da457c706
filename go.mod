module gradatim

go 1.26.0

require (
	codeberg.org/go-pdf/fpdf v0.12.0
	github.com/BurntSushi/toml v1.6.0
	github.com/braheezy/shine-mp3 v0.1.0
	github.com/chromedp/cdproto v0.159.0
	github.com/chromedp/chromedp v0.23.0
	github.com/go-fonts/liberation v0.3.3
	github.com/go-fonts/stix v0.2.2
	github.com/gofrs/flock v0.13.2
	github.com/jfreymuth/vorbis v1.0.2
	github.com/mewkiz/flac v1.0.14
	github.com/rogpeppe/go-internal v1.16.0
	github.com/tdewolff/parse/v2 v2.8.0
	github.com/tetratelabs/wazero v1.12.0
	github.com/thesyncim/gopus v0.1.1
	gitlab.com/gomidi/midi/v2 v2.3.16
	golang.org/x/image v0.40.0
	golang.org/x/text v0.37.0
)

require (
	github.com/go-json-experiment/json v0.0.0-20260213210345-44df1a37e875 // indirect
	github.com/icza/bitio v1.1.0 // indirect
	github.com/mewkiz/pkg v0.0.0-20250417130911-3f050ff8c56d // indirect
	github.com/mewpkg/term v0.0.0-20241026122259-37a80af23985 // indirect
	golang.org/x/sys v0.49.0 // indirect
	golang.org/x/tools v0.44.0 // indirect
)
