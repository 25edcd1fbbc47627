package apart

import (
	"os/exec"
	"syscall"
)

// tie has the system end a worker together with this process, however that ends. The worker would notice by
// itself, but by then another run may be clearing up what it still writes to.
func tie(worker *exec.Cmd) {
	worker.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL}
}
