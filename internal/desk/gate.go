package desk

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"encoding/binary"
	"net"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"
)

// gate decides who is let in. Anybody on the machine can reach a port of the loopback, and
// so can any page in the browser: a request is answered only where its Host is one of ours
// (a name that another site has pointed at this machine is none; "DNS rebinding"), where it
// was not sent by another site's page, and where it brings a cookie that was given for a
// key that only the terminal has shown, or for a password.
type gate struct {
	hosts    []string
	secure   bool
	password string
	secret   []byte
	now      func() time.Time

	mu     sync.Mutex
	keys   []string // that were given out and not used
	failed int      // passwords in a row that were none
	until  time.Time
}

// stay is how long somebody who was let in may come again.
const stay = 30 * 24 * time.Hour

// cookieName of who was let in. A browser sends cookies to every port of a host.
const cookieName = "gradatim-desk"

// issue makes a key that lets in once.
func (g *gate) issue() string {
	key := rand.Text()
	g.mu.Lock()
	defer g.mu.Unlock()
	g.keys = append(g.keys, key)
	if len(g.keys) > 16 { // whoever asks for more has lost the first
		g.keys = g.keys[1:]
	}
	return key
}

// spend tells whether a key lets in, and uses it up.
func (g *gate) spend(key string) bool {
	g.mu.Lock()
	defer g.mu.Unlock()
	for i, k := range g.keys {
		if subtle.ConstantTimeCompare([]byte(k), []byte(key)) == 1 {
			g.keys = slices.Delete(g.keys, i, i+1)
			return true
		}
	}
	return false
}

// tries is how many wrong passwords are heard before the gate stays shut for a while.
const tries = 5

// opens tells whether a password lets in. After some wrong ones none is heard for a while:
// for everybody, since here one person works, and an address can be any.
func (g *gate) opens(password string) (ok, shut bool) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.now().Before(g.until) {
		return false, true
	}
	if checkPassword(g.password, password) {
		g.failed = 0
		return true, false
	}
	if g.failed++; g.failed >= tries {
		g.until = g.now().Add(time.Duration(g.failed-tries+1) * 30 * time.Second)
	}
	return false, false
}

// token is what the cookie holds: until when, what sets it apart, and our mark on both.
func (g *gate) token() string {
	b := make([]byte, 24, 24+sha256.Size)
	binary.BigEndian.PutUint64(b, uint64(g.now().Add(stay).Unix()))
	rand.Read(b[8:]) // it does not fail: crypto/rand
	return base64.RawURLEncoding.EncodeToString(g.mark(b))
}

func (g *gate) mark(b []byte) []byte {
	m := hmac.New(sha256.New, g.secret)
	m.Write([]byte("desk cookie 1\n" + g.password))
	m.Write(b)
	return m.Sum(b)
}

// knows tells whether a request comes from somebody who was let in.
func (g *gate) knows(r *http.Request) bool {
	c, err := r.Cookie(cookieName)
	if err != nil {
		return false
	}
	b, err := base64.RawURLEncoding.DecodeString(c.Value)
	if err != nil || len(b) != 24+sha256.Size {
		return false
	}
	return hmac.Equal(b, g.mark(slices.Clip(b[:24:24]))) && g.now().Unix() < int64(binary.BigEndian.Uint64(b))
}

func (g *gate) give(w http.ResponseWriter, value string, age time.Duration) {
	http.SetCookie(w, &http.Cookie{Name: cookieName, Value: value, Path: "/", MaxAge: int(age / time.Second), HttpOnly: true, Secure: g.secure, SameSite: http.SameSiteLaxMode})
}

// ours tells whether a Host is one that the desk is known by.
func (g *gate) ours(host string) bool {
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	}
	name = strings.ToLower(strings.Trim(name, "[]"))
	if name == "localhost" || slices.Contains(g.hosts, name) {
		return true
	}
	ip := net.ParseIP(name)
	return ip != nil && ip.IsLoopback()
}

// policy is what a page of the desk may load and do: what is ours, nothing inline.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; media-src 'self' blob:; connect-src 'self'; frame-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'self'"

// around stands before everything.
func (g *gate) around(d *Desk, next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		if !g.ours(r.Host) {
			http.Error(w, d.say("gate.host"), http.StatusMisdirectedRequest)
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, maxBody)
		next.ServeHTTP(w, r)
	})
}

// maxBody bounds what is handed in at once.
const maxBody = 64 << 20

// within lets through who was let in; a reader who was not is shown the way.
func (g *gate) within(d *Desk, next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if g.knows(r) {
			next.ServeHTTP(w, r)
			return
		}
		if r.Method == http.MethodGet && r.URL.Path == "/" {
			http.Redirect(w, r, "/enter", http.StatusSeeOther)
			return
		}
		d.page(func(w http.ResponseWriter, r *http.Request) error {
			return d.render(w, r, http.StatusUnauthorized, "enter", &enterView{Password: g.password != "", Trouble: d.say("enter.first")})
		}).ServeHTTP(w, r)
	})
}

// enterView is the page at which a reader is let in.
type enterView struct {
	frame
	Password bool
	Trouble  string
}

func (d *Desk) showEnter(w http.ResponseWriter, r *http.Request) error {
	if key := r.URL.Query().Get("key"); key != "" {
		if d.gate.spend(key) {
			d.gate.give(w, d.gate.token(), stay)
			http.Redirect(w, r, "/", http.StatusSeeOther)
			return nil
		}
		if !d.gate.knows(r) {
			return d.render(w, r, http.StatusUnauthorized, "enter", &enterView{Password: d.gate.password != "", Trouble: d.say("enter.used")})
		}
	}
	if d.gate.knows(r) {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return nil
	}
	return d.render(w, r, http.StatusOK, "enter", &enterView{Password: d.gate.password != ""})
}

func (d *Desk) enter(w http.ResponseWriter, r *http.Request) error {
	if d.gate.password == "" {
		return errNoPage
	}
	ok, shut := d.gate.opens(r.PostFormValue("password"))
	switch {
	case shut:
		return d.render(w, r, http.StatusTooManyRequests, "enter", &enterView{Password: true, Trouble: d.say("enter.shut")})
	case !ok:
		return d.render(w, r, http.StatusUnauthorized, "enter", &enterView{Password: true, Trouble: d.say("enter.wrong")})
	}
	d.gate.give(w, d.gate.token(), stay)
	http.Redirect(w, r, "/", http.StatusSeeOther)
	return nil
}

// endedView says that the program has ended.
type endedView struct{ frame }

// endProgram ends the program, for who has started it without a terminal. The answer is
// sent before: what is being answered comes to its end.
func (d *Desk) endProgram(w http.ResponseWriter, r *http.Request) error {
	if d.stop == nil {
		return errNoPage
	}
	v := &endedView{frame{Title: d.say("ended.title")}}
	defer d.stop()
	return d.render(w, r, http.StatusOK, "ended", v)
}

func (d *Desk) leave(w http.ResponseWriter, r *http.Request) error {
	d.gate.give(w, "", -time.Second)
	http.Redirect(w, r, "/enter", http.StatusSeeOther)
	return nil
}
