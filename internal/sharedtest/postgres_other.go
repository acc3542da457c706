//go:build !linux

package sharedtest

import "testing"

// Postgres skips a test: a server is started on Linux alone.
func Postgres(t testing.TB) string {
	t.Helper()
	t.Skip("starts PostgreSQL, which is tried on Linux")
	return ""
}

// StopPostgres ends nothing.
func StopPostgres() {}

// RestartPostgres is asked for by who has a server.
func RestartPostgres(testing.TB) {}
