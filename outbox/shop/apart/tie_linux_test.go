package apart

import (
	"bufio"
	"io"
	"os"
	"os/exec"
	"testing"
	"time"
)

// The roles that this test binary plays for TestTie, as values of asWorker.
const (
	parent = "parent" // begins a worker that is deaf, says so, and waits to be killed
	deaf   = "deaf"   // notices nothing
)

// act plays a role, with the write end of a pipe as its first file.
func act(role string) {
	if role == parent {
		worker := exec.Command(os.Args[0])
		worker.Env = append(os.Environ(), asWorker+"="+deaf)
		worker.ExtraFiles = []*os.File{os.NewFile(3, "pipe")}
		tie(worker)
		if worker.Start() != nil {
			os.Exit(1)
		}
		os.Stdout.WriteString("begun\n")
	}
	for {
		time.Sleep(time.Hour)
	}
}

// A worker that does not notice it ends all the same when the process that began it is killed.
func TestTie(t *testing.T) {
	alive, held, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer alive.Close()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), asWorker+"="+parent)
	cmd.ExtraFiles = []*os.File{held}
	said, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	held.Close()
	if line, err := bufio.NewReader(said).ReadString('\n'); line != "begun\n" {
		t.Fatal(line, err)
	}
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait() // says that it was killed
	if err := alive.SetReadDeadline(time.Now().Add(20 * time.Second)); err != nil {
		t.Fatal(err)
	}
	if _, err := io.ReadAll(alive); err != nil { // it ends with the last process that holds the other end
		t.Error("the worker lives on: ", err)
	}
}
