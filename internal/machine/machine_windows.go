package machine

import (
	"cmp"
	"unsafe"

	"golang.org/x/sys/windows"
)

// DoubleClicked tells whether the program was started from a window and not from a shell:
// then it is alone in its console, which the system has opened for it
// (GetConsoleProcessList counts those that share one; Microsoft's console API).
func DoubleClicked() bool {
	var ids [2]uint32
	n, _, _ := windows.NewLazySystemDLL("kernel32.dll").NewProc("GetConsoleProcessList").Call(uintptr(unsafe.Pointer(&ids[0])), uintptr(len(ids)))
	return n <= 1
}

// Documents is the user's folder of documents, wherever it was moved.
func Documents() (string, error) { return windows.KnownFolderPath(windows.FOLDERID_Documents, 0) }

// Language is what the system speaks first, as "de-DE"; "": it does not say.
func Language() string {
	names, err := windows.GetUserPreferredUILanguages(windows.MUI_LANGUAGE_NAME)
	if err != nil || len(names) == 0 {
		return ""
	}
	return cmp.Or(names...)
}
