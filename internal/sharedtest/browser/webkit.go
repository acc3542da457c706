package browser

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gradatim/internal/sharedtest"
)

// Second is a window of another engine than Tab's: WebKit, as Debian has it, on a screen
// that nobody sees. It is spoken to as the W3C's WebDriver says, and hears no console:
// whoever serves it pages lets them tell what goes wrong.
type Second struct {
	t    *testing.T
	base string // of the session
}

// OpenSecond starts it; it ends with the test. Under -short the test is skipped.
func OpenSecond(t *testing.T) *Second {
	t.Helper()
	driver, screen := sharedtest.Tool(t, "WebKitWebDriver"), sharedtest.Tool(t, "Xvfb")
	window, _ := filepath.Glob("/usr/lib/*/webkit2gtk-*/MiniBrowser")
	if len(window) == 0 {
		sharedtest.Absent(t, "WebKit's own window is not installed: run make tools")
	}
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	start := func(c *exec.Cmd) {
		t.Helper()
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { c.Process.Kill(); c.Wait() })
	}
	x := exec.Command(screen, "-displayfd", "3", "-screen", "0", "1600x1200x24", "-nolisten", "tcp")
	x.ExtraFiles = []*os.File{w}
	start(x)
	w.Close()
	display, err := io.ReadAll(io.LimitReader(r, 2)) // a number and the end of its line
	if err != nil || len(display) == 0 {
		t.Fatalf("no screen: %v", err)
	}
	r.Close()
	l, err := net.Listen("tcp", "127.0.0.1:0") // a free port
	if err != nil {
		t.Fatal(err)
	}
	at := l.Addr().String()
	l.Close()
	_, port, _ := net.SplitHostPort(at)
	d := exec.Command(driver, "--host=127.0.0.1", "--port="+port)
	d.Env = append(os.Environ(), "DISPLAY=:"+strings.TrimSpace(string(display)), "HOME="+t.TempDir(), "GDK_BACKEND=x11",
		"WEBKIT_DISABLE_DMABUF_RENDERER=1", "LIBGL_ALWAYS_SOFTWARE=1", "NO_AT_BRIDGE=1")
	start(d)
	s := &Second{t: t, base: "http://" + at}
	for end := time.Now().Add(time.Minute); ; time.Sleep(20 * time.Millisecond) {
		if c, err := net.Dial("tcp", at); err == nil {
			c.Close()
			break
		} else if time.Now().After(end) {
			t.Fatal(err)
		}
	}
	var session struct {
		ID string `json:"sessionId"`
	}
	s.call(http.MethodPost, "/session", map[string]any{"capabilities": map[string]any{"alwaysMatch": map[string]any{
		"webkitgtk:browserOptions": map[string]any{"binary": window[0], "args": []string{"--automation"}}}}}, &session)
	s.base += "/session/" + session.ID
	t.Cleanup(func() { s.call(http.MethodDelete, "", nil, nil) })
	s.call(http.MethodPost, "/window/rect", map[string]int{"x": 0, "y": 0, "width": 1280, "height": 960}, nil)
	return s
}

// call asks the driver for something.
func (s *Second) call(method, path string, body, out any) {
	s.t.Helper()
	var b bytes.Buffer
	if method == http.MethodPost {
		if err := json.NewEncoder(&b).Encode(body); err != nil {
			s.t.Fatal(err)
		}
	}
	q, err := http.NewRequest(method, s.base+path, &b)
	if err != nil {
		s.t.Fatal(err)
	}
	a, err := http.DefaultClient.Do(q)
	if err != nil {
		s.t.Fatal(err)
	}
	defer a.Body.Close()
	answer := struct {
		Value json.RawMessage `json:"value"`
	}{}
	if err := json.NewDecoder(a.Body).Decode(&answer); err != nil || a.StatusCode != http.StatusOK {
		s.t.Fatalf("%s %s: %s %v %s", method, path, a.Status, err, answer.Value)
	}
	if out != nil {
		if err := json.Unmarshal(answer.Value, out); err != nil {
			s.t.Fatalf("%s %s: %v in %s", method, path, err, answer.Value)
		}
	}
}

// Open goes to an address.
func (s *Second) Open(url string) {
	s.t.Helper()
	s.call(http.MethodPost, "/url", map[string]string{"url": url}, nil)
}

// Within goes into the frame that a selector finds.
func (s *Second) Within(selector string) {
	s.t.Helper()
	s.call(http.MethodPost, "/frame", map[string]any{"id": s.element(selector)}, nil)
}

func (s *Second) element(selector string) map[string]string {
	s.t.Helper()
	var e map[string]string
	s.call(http.MethodPost, "/element", map[string]string{"using": "css selector", "value": selector}, &e)
	return e
}

// Click presses a link or a button.
func (s *Second) Click(selector string) {
	s.t.Helper()
	for _, id := range s.element(selector) {
		s.call(http.MethodPost, "/element/"+id+"/click", struct{}{}, nil)
	}
}

// Tap presses the middle of what a selector finds, whatever lies on it there.
func (s *Second) Tap(selector string) {
	s.t.Helper()
	at := Ask[[2]int](s, fmt.Sprintf(`((r) => [Math.round(r.left + r.width / 2), Math.round(r.top + r.height / 2)])(document.querySelector(%q).getBoundingClientRect())`, selector))
	s.call(http.MethodPost, "/actions", map[string]any{"actions": []any{map[string]any{"type": "pointer", "id": "mouse", "actions": []any{
		map[string]any{"type": "pointerMove", "x": at[0], "y": at[1]}, map[string]any{"type": "pointerDown", "button": 0}, map[string]any{"type": "pointerUp", "button": 0}}}}}, nil)
}

// Ask runs an expression.
func Ask[T any](s *Second, js string) T {
	s.t.Helper()
	var v T
	s.call(http.MethodPost, "/execute/sync", map[string]any{"script": "return (" + js + ")", "args": []any{}}, &v)
	return v
}

// Wait waits until an expression is true.
func (s *Second) Wait(js string) {
	s.t.Helper()
	for end := time.Now().Add(time.Minute); !Ask[bool](s, "!!("+js+")"); time.Sleep(20 * time.Millisecond) {
		if time.Now().After(end) {
			s.t.Fatal(fmt.Errorf("not in a minute: %s", js))
		}
	}
}
