package shelf

import (
	"os"
	"testing"

	"gradatim/internal/sharedtest"
)

func TestMain(m *testing.M) {
	code := m.Run()
	sharedtest.StopPostgres()
	os.Exit(code)
}
