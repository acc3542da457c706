package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"go.yaml.in/yaml/v3"

	"gradatim"
	"gradatim/internal/sharedtest"
)

// setup reads a file of docs/setup.
func setup(t *testing.T, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(sharedtest.Root(), "docs", "setup", name))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// understood tells whether the program reads a command line; what it asks for is not there.
func understood(t *testing.T, args []string) bool {
	t.Helper()
	t.Setenv("GRADATIM_SHELF", filepath.Join(t.TempDir(), "nowhere"))
	if i := slices.Index(args, "--shelf"); i >= 0 && i+1 < len(args) {
		args = slices.Clone(args)
		args[i+1] = os.Getenv("GRADATIM_SHELF")
	}
	var out bytes.Buffer
	code := run(t.Context(), args, strings.NewReader(""), &out, &out)
	if code == misused {
		t.Log(out.String())
	}
	return code != misused
}

// TestSetupCompose: the compose file is YAML with the keys of the Compose Specification (its services,
// as of memory), what its services name is there, and the program reads each command line.
func TestSetupCompose(t *testing.T) {
	type service struct {
		Image       string
		Build       map[string]string
		Command     any
		Profiles    []string
		Restart     string
		Environment map[string]string
		EnvFile     string `yaml:"env_file"`
		Secrets     []string
		Volumes     []string
		Tmpfs       []string
		ShmSize     string                       `yaml:"shm_size"`
		StopGrace   string                       `yaml:"stop_grace_period"`
		DependsOn   map[string]map[string]string `yaml:"depends_on"`
		ReadOnly    bool                         `yaml:"read_only"`
		Healthcheck struct {
			Test     []string
			Interval string
			Retries  int
		}
		Deploy struct{ Replicas int }
	}
	var file struct {
		Services map[string]service
		Volumes  map[string]any
		Secrets  map[string]struct{ File string }
	}
	d := yaml.NewDecoder(bytes.NewReader(setup(t, "compose.yaml")))
	d.KnownFields(true)
	if err := d.Decode(&file); err != nil {
		t.Fatal(err)
	}
	programs := 0
	for name, s := range file.Services {
		if (s.Image == "") == (s.Build == nil) {
			t.Errorf("%s has an image and is built, or neither", name)
		}
		for on := range s.DependsOn {
			if _, there := file.Services[on]; !there {
				t.Errorf("%s waits for %s, which is not there", name, on)
			}
		}
		for _, x := range s.Secrets {
			if _, there := file.Secrets[x]; !there {
				t.Errorf("%s has a secret %s, which is not there", name, x)
			}
		}
		for _, v := range s.Volumes {
			if _, there := file.Volumes[strings.Split(v, ":")[0]]; !there {
				t.Errorf("%s has a volume %s, which is not there", name, v)
			}
		}
		if s.Build == nil {
			continue
		}
		programs++
		if from := setup(t, s.Build["dockerfile"]); !bytes.Contains(from, []byte(`ENTRYPOINT ["/gradatim"]`)) {
			t.Errorf("%s starts something else:\n%s", name, from)
		}
		words, _ := s.Command.([]any)
		var args []string
		for _, w := range words {
			args = append(args, fmt.Sprint(w))
		}
		if len(args) == 0 || !understood(t, args) {
			t.Errorf("the program does not read %q", args)
		}
	}
	if programs != 2 {
		t.Errorf("%d services are the program", programs)
	}
}

// TestSetupPlace: the place of the shelf is read, and names hosts that the compose file has.
func TestSetupPlace(t *testing.T) {
	at, err := gradatim.ParseShelfPlace(filepath.Join(sharedtest.Root(), "docs", "setup", "place.toml"), "", false)
	if err != nil || at.String() != "postgres://database/gradatim" || !strings.Contains(at.Files(), "endpoint=http://store:9000") {
		t.Errorf("%s, %s, %v", at, at.Files(), err)
	}
}

// TestSetupCommands: the program reads the command lines of the unit for systemd and of what is told
// of shelf and press.
func TestSetupCommands(t *testing.T) {
	lines := regexp.MustCompile(`(?m)^(?:ExecStart=/usr/local/bin/|    )gradatim (.*)$`)
	total := 0
	for _, name := range []string{"gradatim-worker.service", "../press.md", "../shelf.md"} {
		for _, m := range lines.FindAllStringSubmatch(string(setup(t, name)), -1) {
			total++
			var args []string
			for _, w := range regexp.MustCompile(`"[^"]*"|\S+`).FindAllString(m[1], -1) {
				args = append(args, strings.Trim(w, `"`))
			}
			if !understood(t, args) {
				t.Errorf("%s: the program does not read %q", name, m[1])
			}
		}
	}
	if total < 8 {
		t.Errorf("%d command lines were found", total)
	}
	for _, wrong := range []string{"worker --shelve x", "press watch", "worker --log xml"} {
		if understood(t, strings.Fields(wrong)) {
			t.Errorf("%q is read", wrong)
		}
	}
}
