package main

import (
	"bufio"
	"context"
	"crypto/rand"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"gradatim"
	"gradatim/internal/desk"
	"gradatim/leadsheet"
)

const deskAbout = `Opens the desk: a local web app in which tunes of a shelf are added, seen at all levels,
heard, changed bar by bar, and made into lessons. It prints an address with a key that lets
a browser in once; Enter prints another. Ctrl-C ends it.

Started by a double click it opens the desk on a shelf among the user's documents, which is
made where there is none; a button in the page ends it. So it does with --home.

It listens on this machine alone. Where --addr is another address everybody who reaches it
may try to come in: that needs a certificate (--tls-cert, --tls-key) and a password of
twelve letters or more, the first line of --password-file.`

// deskPort is where the desk stands if nothing else does: the same address lets a page that
// is open come back to a desk that was ended.
const deskPort = "127.0.0.1:8471"

func deskCommand(ctx context.Context, sh *shell, args []string) error {
	f := declareShelf(sh, "desk", "", deskAbout, "--shelf tunes", "--addr 127.0.0.1:9000 --no-browser")
	addr := f.String("addr", "", "`ADDRESS` to listen on (default: "+deskPort+", or another port where that is taken)")
	cert := f.String("tls-cert", "", "`FILE` of the certificate, PEM")
	certKey := f.String("tls-key", "", "`FILE` of its key, PEM")
	passwordFile := f.String("password-file", "", "`FILE` whose first line is the password")
	host := f.String("host", "", "`NAMES` that it is asked for by, with commas, beside those of this machine")
	quiet := f.Bool("no-browser", false, "open no browser")
	home := f.Bool("home", false, "work on the shelf among the user's documents, with a button in the page that ends the program")
	rest, err := f.words(args)
	if err != nil {
		return err
	}
	if err := noMore(rest); err != nil {
		return err
	}
	if (*cert == "") != (*certKey == "") {
		return usageError{"--tls-cert and --tls-key belong together"}
	}
	cfg := desk.Config{Language: *f.language, Secure: *cert != "", Secret: deskSecret()}
	for name := range strings.SplitSeq(*host, ",") {
		if name = strings.ToLower(strings.TrimSpace(name)); name != "" {
			cfg.Hosts = append(cfg.Hosts, name)
		}
	}
	if *passwordFile != "" {
		if cfg.Password, err = readPassword(*passwordFile); err != nil {
			return err
		}
	}
	if *addr != "" {
		h, _, err := net.SplitHostPort(*addr)
		if err != nil {
			return usageError{fmt.Sprintf("--addr %q is no address: say 127.0.0.1:9000", *addr)}
		}
		if ip := net.ParseIP(h); h != "localhost" && (ip == nil || !ip.IsLoopback()) {
			if *cert == "" || *passwordFile == "" {
				return usageError{fmt.Sprintf("--addr %s can be reached by others: that needs --tls-cert, --tls-key and --password-file", *addr)}
			}
			if ip == nil || !ip.IsUnspecified() {
				cfg.Hosts = append(cfg.Hosts, strings.ToLower(h))
			}
			if len(cfg.Hosts) == 0 {
				return usageError{fmt.Sprintf("--addr %s has no name: say with --host by which it is asked for", *addr)}
			}
		}
	}
	if *home {
		if *f.place != "" || *addr != "" {
			return usageError{"--home has a shelf and an address of its own: leave --shelf and --addr out"}
		}
		dir, err := homePlace()
		if err != nil {
			return err
		}
		if _, err := homeMade(ctx, dir, f.config()); err != nil {
			return err
		}
		*f.place = dir
		var stop context.CancelFunc
		ctx, stop = context.WithCancel(ctx)
		defer stop()
		cfg.Stop = stop
	}
	return f.lookedAt(ctx, sh, func(s *gradatim.Shelf, why string) error {
		cfg.Shelf, cfg.ReadOnly = s, why
		ln, err := listenDesk(*addr)
		if err != nil {
			return err
		}
		defer ln.Close()
		d, err := desk.New(cfg)
		if err != nil {
			return err
		}
		scheme := "http"
		if cfg.Secure {
			pair, err := tls.LoadX509KeyPair(*cert, *certKey)
			if err != nil {
				return errors.Join(err, d.Close())
			}
			ln = tls.NewListener(ln, &tls.Config{Certificates: []tls.Certificate{pair}, MinVersion: tls.VersionTLS12})
			scheme = "https"
		}
		at := scheme + "://" + ln.Addr().String()
		if len(cfg.Hosts) > 0 {
			_, port, _ := net.SplitHostPort(ln.Addr().String())
			at = scheme + "://" + net.JoinHostPort(cfg.Hosts[len(cfg.Hosts)-1], port)
		}
		enter := func() string {
			if cfg.Password != "" {
				return at + "/"
			}
			return at + "/enter?key=" + d.Key()
		}
		first := enter()
		fmt.Fprintln(sh.out, sh.words.Say("told.desk", "Address", first))
		if cfg.Password != "" && *addr != "" {
			fmt.Fprintln(sh.err, sh.words.Say("told.desk-open", "Address", *addr))
		}
		if *home {
			fmt.Fprintln(sh.out, sh.words.Say("told.desk-home", "Folder", *f.place))
		}
		if !*quiet {
			openBrowser(first)
		}
		go func() { // ends with its input, or the process
			for in := bufio.NewScanner(sh.in); in.Scan(); {
				fmt.Fprintln(sh.out, enter())
			}
		}()
		return errors.Join(serveDesk(ctx, ln, d), d.Close())
	})
}

// lookedAt opens the shelf for as long as do takes. One that cannot be written, or is of a
// newer release, is opened to be looked at: why says why; "": it can be changed.
func (f *shelfFlags) lookedAt(ctx context.Context, sh *shell, do func(s *gradatim.Shelf, why string) error) error {
	at, err := f.at()
	if err != nil {
		return err
	}
	cfg, why := f.config(), ""
	s, err := gradatim.OpenShelf(ctx, at, cfg)
	var ps leadsheet.Problems
	if errors.As(err, &ps) && len(ps) > 0 && slices.Contains([]string{"shelf-newer", "shelf-broken", "shelf-full"}, ps[0].Code) {
		cfg.ReadOnly = true
		if looked, err2 := gradatim.OpenShelf(ctx, at, cfg); err2 == nil {
			s, err, why = looked, nil, sh.words.Problems(ps)[0].Text
			sh.say(ps...)
		}
	}
	if err != nil {
		return err
	}
	return errors.Join(do(s, why), s.Close())
}

// serveDesk answers until the context ends, and then lets what is being answered come to
// its end.
func serveDesk(ctx context.Context, ln net.Listener, d *desk.Desk) error {
	srv := &http.Server{Handler: d.Handler(), ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 64 << 10,
		BaseContext: func(net.Listener) context.Context { return ctx }}
	failed := make(chan error, 1)
	go func() { failed <- srv.Serve(ln) }()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	}
	end, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer cancel()
	if err := srv.Shutdown(end); err != nil {
		return srv.Close()
	}
	return nil
}

// listenDesk listens on an address, or where none is asked for on the usual one, or any.
func listenDesk(addr string) (net.Listener, error) {
	if addr != "" {
		ln, err := net.Listen("tcp", addr)
		if err != nil {
			return nil, fmt.Errorf("the desk cannot listen there: %w", err)
		}
		return ln, nil
	}
	ln, err := net.Listen("tcp", deskPort)
	if err != nil {
		ln, err = net.Listen("tcp", "127.0.0.1:0")
	}
	return ln, err
}

// readPassword reads a password and keeps its hash alone.
func readPassword(file string) (string, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		var ps leadsheet.Problems
		ps.Tell(leadsheet.Error, leadsheet.Pos{File: file}, "file-read", "Error", err.Error())
		return "", ps
	}
	line, _, _ := strings.Cut(string(data), "\n")
	hash, err := desk.HashPassword(strings.TrimRight(line, "\r"))
	if err != nil {
		return "", usageError{fmt.Sprintf("--password-file: the password has less than %d letters", desk.LeastPassword)}
	}
	return hash, nil
}

// deskSecret is what signs who was let in. It lies in the user's own folder, so that a page
// that is open comes back to a desk that was ended; where it cannot lie there it is nil, and
// each desk has its own.
func deskSecret() []byte {
	dir, err := os.UserConfigDir()
	if err != nil {
		return nil
	}
	file := filepath.Join(dir, "gradatim", "desk.secret")
	if b, err := os.ReadFile(file); err == nil && len(b) == 32 {
		return b
	}
	b := make([]byte, 32)
	rand.Read(b) // it does not fail: crypto/rand
	if os.MkdirAll(filepath.Dir(file), 0o700) != nil || os.WriteFile(file, b, 0o600) != nil {
		return nil
	}
	return b
}

// openBrowser opens an address where there is a browser; where not, it is printed.
func openBrowser(at string) {
	var cmd *exec.Cmd
	switch runtime.GOOS {
	case "darwin":
		cmd = exec.Command("open", at)
	case "windows":
		cmd = exec.Command("rundll32", "url.dll,FileProtocolHandler", at)
	default:
		if os.Getenv("DISPLAY") == "" && os.Getenv("WAYLAND_DISPLAY") == "" {
			return
		}
		cmd = exec.Command("xdg-open", at)
	}
	if cmd.Start() == nil {
		go cmd.Wait()
	}
}
