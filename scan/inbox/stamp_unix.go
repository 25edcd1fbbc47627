//go:build !windows

package inbox

import (
	"os"

	"golang.org/x/sys/unix"
)

// StampOf looks at a file, or at what a link leads to.
func StampOf(path string) (Stamp, error) {
	var st unix.Stat_t
	if err := unix.Stat(path, &st); err != nil {
		return Stamp{}, err
	}
	return stamped(&st), nil
}

// StampOfOpen looks at an open file, whatever its name leads to by now.
func StampOfOpen(f *os.File) (Stamp, error) {
	var st unix.Stat_t
	if err := unix.Fstat(int(f.Fd()), &st); err != nil {
		return Stamp{}, err
	}
	return stamped(&st), nil
}

func stamped(st *unix.Stat_t) Stamp {
	return Stamp{st.Size, st.Mtim.Nano(), st.Ctim.Nano(), st.Ino}
}
