//go:build linux || darwin || freebsd || netbsd || openbsd

package main

import (
	"os"
	"syscall"
	"unsafe"
)

// terminalWidth asks the terminal behind a file for its width; false when
// there is none.
func terminalWidth(f *os.File) (int, bool) {
	if f == nil {
		return 0, false
	}
	var size struct{ rows, columns, x, y uint16 }
	_, _, no := syscall.Syscall(syscall.SYS_IOCTL, f.Fd(), uintptr(syscall.TIOCGWINSZ), uintptr(unsafe.Pointer(&size)))
	return int(size.columns), no == 0
}
