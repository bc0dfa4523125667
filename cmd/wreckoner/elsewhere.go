package main

import (
	"errors"
	"runtime"
	"syscall"
)

// The errors of Windows for a file that another program has open: ERROR_SHARING_VIOLATION and ERROR_LOCK_VIOLATION
// (Microsoft, System Error Codes 0-499).
const (
	sharingViolation = syscall.Errno(32)
	lockViolation    = syscall.Errno(33)
)

// openElsewhere reports whether the system keeps a file from being read or written because another program has it open.
func openElsewhere(err error) bool { return openElsewhereOn(runtime.GOOS, err) }

func openElsewhereOn(system string, err error) bool {
	return system == "windows" && (errors.Is(err, sharingViolation) || errors.Is(err, lockViolation))
}
