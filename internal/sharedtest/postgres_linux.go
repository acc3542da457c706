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
	as   *syscall.Credential // it runs as; nil: as we do
	// start begins the program and waits until it answers; stop ends it with a signal and
	// waits until it has ended.
	start func() error
	stop  func(syscall.Signal)
}

// Postgres returns the address of an empty database on a server of Debian's PostgreSQL.
// Under -short the test is skipped.
func Postgres(t testing.TB) string {
	t.Helper()
	serve(t)
	return newDatabase(t, "")
}

// PostgresOn is Postgres with the database's tables in a folder, as one on a small disk.
func PostgresOn(t testing.TB, dir string) string {
	t.Helper()
	serve(t)
	space := filepath.Join(dir, "tables")
	err := errors.Join(os.Mkdir(space, 0o700), os.Chmod(filepath.Dir(dir), 0o711)) // of the test's folders
	if c := server.as; c != nil {
		err = errors.Join(err, os.Chown(space, int(c.Uid), int(c.Gid)))
	}
	if err != nil {
		t.Fatal(err)
	}
	name := "space" + strconv.FormatInt(server.n.Add(1), 10)
	onServer(t, "CREATE TABLESPACE "+name+" LOCATION '"+space+"'")
	t.Cleanup(func() { onServer(t, "DROP TABLESPACE "+name) }) // the database goes before
	return newDatabase(t, name)
}

// serve starts the server, if nobody has.
func serve(t testing.TB) {
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
}

// newDatabase makes an empty database, in a tablespace if one is named, and returns its address.
func newDatabase(t testing.TB, space string) string {
	t.Helper()
	name := "test" + strconv.FormatInt(server.n.Add(1), 10)
	if space == "" {
		onServer(t, "CREATE DATABASE "+name)
	} else {
		onServer(t, "CREATE DATABASE "+name+" TABLESPACE "+space)
		t.Cleanup(func() { onServer(t, "DROP DATABASE "+name+" WITH (FORCE)") })
	}
	return address(name)
}

func address(database string) string {
	q := url.Values{"host": {server.dir}, "sslmode": {"disable"}}
	return "postgres://gradatim@/" + database + "?" + q.Encode()
}

func onServer(t testing.TB, statement string) {
	t.Helper()
	db, err := sql.Open("pgx", address("postgres"))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.ExecContext(context.Background(), statement); err != nil {
		t.Fatal(err)
	}
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
		server.as = as.Credential
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
		db, err := sql.Open("pgx", address("postgres"))
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
