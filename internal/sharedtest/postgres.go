package sharedtest

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	_ "github.com/jackc/pgx/v5/stdlib" // driver "pgx"
)

// A server of PostgreSQL for the tests of one package: started by the first that asks,
// in a folder of its own, on a socket there and no port; it ends with the program.
var server struct {
	once sync.Once
	dir  string
	err  error
	n    atomic.Int64
	// start begins the program and waits until it answers; stop ends it with a signal and
	// waits until it has ended.
	start func() error
	stop  func(syscall.Signal)
}

// Postgres returns the address of an empty database on a server of Debian's PostgreSQL.
// Under -short the test is skipped.
func Postgres(t testing.TB) string {
	t.Helper()
	if testing.Short() {
		t.Skip("starts PostgreSQL")
	}
	server.once.Do(func() { server.err = startPostgres() })
	if errors.Is(server.err, exec.ErrNotFound) {
		Absent(t, "PostgreSQL is not installed: run make tools")
	}
	if server.err != nil {
		t.Fatal(server.err)
	}
	address := func(name string) string {
		q := url.Values{"host": {server.dir}, "sslmode": {"disable"}}
		return "postgres://gradatim@/" + name + "?" + q.Encode()
	}
	db, err := sql.Open("pgx", address("postgres"))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	name := "test" + strconv.FormatInt(server.n.Add(1), 10)
	if _, err := db.ExecContext(context.Background(), "CREATE DATABASE "+name); err != nil {
		t.Fatal(err)
	}
	return address(name)
}

// StopPostgres ends the server, if one was started; TestMain calls it.
func StopPostgres() {
	if server.stop != nil {
		server.stop(syscall.SIGINT)
		_ = os.RemoveAll(server.dir)
	}
}

// RestartPostgres ends the server that Postgres started, at once and without a word to who is
// connected, as a machine does that goes off, and starts it again on the same data.
func RestartPostgres(t testing.TB) {
	t.Helper()
	server.stop(syscall.SIGQUIT)
	if err := server.start(); err != nil {
		t.Fatal(err)
	}
}

// postgresTool finds a program of PostgreSQL, which Debian keeps off the path.
func postgresTool(name string) (string, error) {
	if p, err := exec.LookPath(name); err == nil {
		return p, nil
	}
	found, err := filepath.Glob("/usr/lib/postgresql/*/bin/" + name)
	if err != nil || len(found) == 0 {
		return "", fmt.Errorf("%s: %w", name, exec.ErrNotFound)
	}
	slices.Sort(found)
	return found[len(found)-1], nil
}

func startPostgres() error {
	initdb, err := postgresTool("initdb")
	if err != nil {
		return err
	}
	postgres, err := postgresTool("postgres")
	if err != nil {
		return err
	}
	// A socket's path may have a hundred letters.
	if server.dir, err = os.MkdirTemp("/tmp", "pg"); err != nil {
		return err
	}
	as := &syscall.SysProcAttr{}
	if os.Getuid() == 0 { // the server refuses to run as root
		u, err := user.Lookup("postgres")
		if err != nil {
			return err
		}
		uid, _ := strconv.Atoi(u.Uid)
		gid, _ := strconv.Atoi(u.Gid)
		as.Credential = &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
		if err := os.Chown(server.dir, uid, gid); err != nil {
			return err
		}
	}
	data := filepath.Join(server.dir, "data")
	init := exec.Command(initdb, "-D", data, "-U", "gradatim", "-A", "trust", "-E", "UTF8", "--no-locale", "--no-sync")
	init.SysProcAttr, init.Dir = as, server.dir
	if out, err := init.CombinedOutput(); err != nil {
		return fmt.Errorf("initdb: %w\n%s", err, out)
	}
	server.start = func() error { return runPostgres(postgres, data, as.Credential) }
	return server.start()
}

// runPostgres starts the server on its data and waits until it answers.
func runPostgres(postgres, data string, as *syscall.Credential) error {
	run := exec.Command(postgres, "-D", data, "-k", server.dir, "-c", "listen_addresses=", "-c", "fsync=off", "-c", "max_connections=100")
	run.SysProcAttr, run.Dir = &syscall.SysProcAttr{Credential: as, Pdeathsig: syscall.SIGQUIT}, server.dir
	var log strings.Builder
	run.Stdout, run.Stderr = &log, &log
	if err := run.Start(); err != nil {
		return err
	}
	ended := make(chan error, 1)
	go func() { ended <- run.Wait() }()
	server.stop = func(with syscall.Signal) {
		_ = run.Process.Signal(with)
		<-ended
	}
	for range 600 {
		select {
		case err := <-ended:
			ended <- err
			return fmt.Errorf("postgres: %w\n%s", err, log.String())
		case <-time.After(50 * time.Millisecond):
		}
		db, err := sql.Open("pgx", "postgres://gradatim@/postgres?sslmode=disable&host="+url.QueryEscape(server.dir))
		if err != nil {
			return err
		}
		err = db.Ping()
		db.Close()
		if err == nil {
			return nil
		}
	}
	return errors.New("postgres does not answer")
}
