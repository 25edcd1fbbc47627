//go:build linux || darwin

package apart

import (
	"os"

	"golang.org/x/sys/unix"
)

// boundMemory has the system refuse more memory than this, and end this process before others where it runs
// short. Not every system heeds both, so nothing hangs on it.
func boundMemory(most int64) {
	limit := unix.Rlimit{Cur: uint64(most), Max: uint64(most)}
	_ = unix.Setrlimit(unix.RLIMIT_DATA, &limit)
	_ = unix.Setrlimit(unix.RLIMIT_CORE, &unix.Rlimit{})
	_ = os.WriteFile("/proc/self/oom_score_adj", []byte("500"), 0)
}
