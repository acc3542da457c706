package main

import (
	"cmp"
	"unsafe"

	"golang.org/x/sys/windows"
)

// doubleClicked tells whether the program was started from a window and not from a shell:
// then it is alone in its console, which the system has opened for it
// (GetConsoleProcessList counts those that share one; Microsoft's console API).
func doubleClicked() bool {
	var ids [2]uint32
	n, _, _ := windows.NewLazySystemDLL("kernel32.dll").NewProc("GetConsoleProcessList").Call(uintptr(unsafe.Pointer(&ids[0])), uintptr(len(ids)))
	return n <= 1
}

// documents is the user's folder of documents, wherever it was moved.
func documents() (string, error) { return windows.KnownFolderPath(windows.FOLDERID_Documents, 0) }

func systemLanguage() string {
	names, err := windows.GetUserPreferredUILanguages(windows.MUI_LANGUAGE_NAME)
	if err != nil || len(names) == 0 {
		return ""
	}
	return cmp.Or(names...)
}
