package desk

import (
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"strings"
	"testing"
	"time"
)

func (r *reader) stranger() *reader {
	other := *r
	jar, _ := cookiejar.New(nil)
	other.http = &http.Client{Jar: jar}
	return &other
}

func TestKeyLetsInOnce(t *testing.T) {
	r := atDesk(t, Config{})
	key := r.desk.Key()
	one, two := r.stranger(), r.stranger()
	for _, path := range []string{"/tunes/x", "/keys"} {
		one.get(path, http.StatusUnauthorized).wants(t, "not been let in")
	}
	one.get("/", http.StatusOK).wants(t, "Come in")
	one.get("/enter?key=WRONG", http.StatusUnauthorized).wants(t, "used already")
	one.get("/enter?key="+key, http.StatusOK).wants(t, "On the shelf")
	one.get("/keys", http.StatusOK)
	one.get("/enter?key="+key, http.StatusOK).wants(t, "On the shelf") // who is in stays in
	two.get("/enter?key="+key, http.StatusUnauthorized)
	two.get("/keys", http.StatusUnauthorized)
	one.post("/leave", nil, http.StatusOK).wants(t, "Come in")
	one.get("/keys", http.StatusUnauthorized)
}

// Every address that shows or does something wants somebody who was let in.
func TestEveryAddressIsGuarded(t *testing.T) {
	r := atDesk(t, Config{})
	stranger := r.stranger()
	seen := 0
	for _, x := range r.desk.routes() {
		method, path, ok := strings.Cut(x.pattern, " ")
		if !ok || strings.HasSuffix(path, "/enter") {
			continue
		}
		if x.open {
			t.Errorf("%s is open", x.pattern)
		}
		path = strings.NewReplacer("{$}", "", "{", "", "}", "").Replace(path)
		req, _ := http.NewRequest(method, stranger.base+path, nil)
		res, err := stranger.http.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		io.Copy(io.Discard, res.Body)
		res.Body.Close()
		if res.StatusCode != http.StatusUnauthorized && res.Request.URL.Path != "/enter" {
			t.Errorf("%s answers %d to a stranger", x.pattern, res.StatusCode)
		}
		seen++
	}
	if seen < 6 {
		t.Errorf("only %d addresses", seen)
	}
}

// A cookie that was changed, or is old, or was signed with another secret, is none.
func TestCookie(t *testing.T) {
	now := time.Unix(1700000000, 0)
	g := &gate{secret: []byte("one"), now: func() time.Time { return now }}
	knows := func(g *gate, token string) bool {
		r, _ := http.NewRequest("GET", "/", nil)
		r.AddCookie(&http.Cookie{Name: cookieName, Value: token})
		return g.knows(r)
	}
	token := g.token()
	if !knows(g, token) {
		t.Fatal("a token of our own is not known")
	}
	again := &gate{secret: []byte("one"), now: g.now}
	if !knows(again, token) {
		t.Error("a token does not outlive the process")
	}
	for i := range token {
		c := byte('A')
		if token[i] == c {
			c = 'B'
		}
		if bad := token[:i] + string(c) + token[i+1:]; knows(g, bad) && i < len(token)-1 {
			t.Fatalf("changed at %d it is known", i)
		}
	}
	if knows(&gate{secret: []byte("two"), now: g.now}, token) || knows(&gate{secret: []byte("one"), password: "other", now: g.now}, token) {
		t.Error("another secret or password knows it")
	}
	now = now.Add(stay + time.Second)
	if knows(g, token) {
		t.Error("it never ends")
	}
}

// A page of another site, or of a name that was pointed at this machine, gets nothing.
func TestOtherSites(t *testing.T) {
	r := atDesk(t, Config{Hosts: []string{"desk.example"}})
	do := func(change func(*http.Request)) int {
		req, _ := http.NewRequest("POST", r.base+"/tunes", strings.NewReader(url.Values{"text": {ferryLamp}}.Encode()))
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		change(req)
		res, err := r.http.Do(req)
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
		return res.StatusCode
	}
	for name, c := range map[string]struct {
		want   int
		change func(*http.Request)
	}{
		"ours":         {http.StatusOK, func(q *http.Request) { q.Header.Set("Sec-Fetch-Site", "same-origin") }},
		"cross-site":   {http.StatusForbidden, func(q *http.Request) { q.Header.Set("Sec-Fetch-Site", "cross-site") }},
		"same-site":    {http.StatusForbidden, func(q *http.Request) { q.Header.Set("Sec-Fetch-Site", "same-site") }},
		"origin":       {http.StatusForbidden, func(q *http.Request) { q.Header.Set("Origin", "http://other.example") }},
		"null origin":  {http.StatusForbidden, func(q *http.Request) { q.Header.Set("Origin", "null") }},
		"rebound":      {http.StatusMisdirectedRequest, func(q *http.Request) { q.Host = "other.example" }},
		"rebound port": {http.StatusMisdirectedRequest, func(q *http.Request) { q.Host = "127.0.0.1.other.example:80" }},
	} {
		got := do(c.change)
		if got != c.want {
			t.Errorf("%s: %d, not %d", name, got, c.want)
		}
	}
}

func TestHosts(t *testing.T) {
	g := &gate{hosts: []string{"desk.example"}}
	for host, want := range map[string]bool{"127.0.0.1:80": true, "127.0.0.1": true, "[::1]:80": true, "::1": true, "localhost": true, "LOCALHOST:9": true,
		"desk.example:443": true, "": false, "example.com": false, "192.168.0.3:80": false, "localhost.example.com": false, "0.0.0.0:1": false} {
		if got := g.ours(host); got != want {
			t.Errorf("%q: %v", host, got)
		}
	}
}

// What every answer says to the browser: nothing inline, nobody else's.
func TestHeaders(t *testing.T) {
	r := atDesk(t, Config{})
	for _, path := range []string{"/", "/keys", "/nowhere", "/static/x"} {
		res, err := r.http.Get(r.base + path)
		if err != nil {
			t.Fatal(err)
		}
		res.Body.Close()
		csp := res.Header.Get("Content-Security-Policy")
		if !strings.Contains(csp, "default-src 'none'") || strings.Contains(csp, "unsafe") || strings.Contains(csp, "*") {
			t.Errorf("%s: %q", path, csp)
		}
		if res.Header.Get("X-Content-Type-Options") != "nosniff" {
			t.Errorf("%s may be sniffed", path)
		}
	}
}

func TestPassword(t *testing.T) {
	if _, err := HashPassword("short"); err == nil {
		t.Error("a short password is taken")
	}
	h, err := HashPassword("nine stairs and a lantern")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(h, "$argon2id$v=19$m=65536,t=3,p=4$") {
		t.Error(h)
	}
	r := atDesk(t, Config{Password: h})
	r.get("/", http.StatusOK).wants(t, `type="password"`)
	r.post("/enter", url.Values{"password": {"nine stairs"}}, http.StatusUnauthorized).wants(t, "not the password")
	r.post("/enter", url.Values{"password": {"nine stairs and a lantern"}}, http.StatusOK).wants(t, "On the shelf")
}

// After some wrong passwords none is heard for a while, the right one neither.
func TestShut(t *testing.T) {
	now := time.Unix(1700000000, 0)
	g := &gate{password: "no hash of anything", now: func() time.Time { return now }}
	for range tries {
		if ok, shut := g.opens("x"); ok || shut {
			t.Fatal(ok, shut)
		}
	}
	if _, shut := g.opens("x"); !shut {
		t.Error("it is not shut")
	}
	now = now.Add(31 * time.Second)
	if _, shut := g.opens("x"); shut {
		t.Error("it stays shut")
	}
	if _, shut := g.opens("x"); !shut {
		t.Error("it is not shut again")
	}
}
