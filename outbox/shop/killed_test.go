package shop

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// shopOfVictim names the shop that this test binary shall serve until it is killed.
const shopOfVictim = "TEST_SHOP_OF_VICTIM"

// victim begins a delivery, writes half of it, says so, and waits to be killed.
func victim(t *testing.T, root string) {
	_, err := Once(t.Context(), root, &bench{during: func(job Job) {
		if err := os.WriteFile(filepath.Join(job.Dir, "report.txt"), []byte("half"), 0o644); err != nil {
			t.Fatal(err)
		}
		fmt.Println("\nhalf done")
		select {}
	}}, Options{Version: "v1"})
	t.Fatal("not killed: ", err)
}

// A run that is killed in the middle leaves the delivery that stood before it, no lock, and nothing that the
// next run does not clear away.
func TestKilledRun(t *testing.T) {
	if root := os.Getenv(shopOfVictim); root != "" {
		victim(t, root)
	}
	root := t.TempDir()
	write(t, root, map[string]string{"inbox/a/left.ply": "A"})
	if _, _, err := once(t, root, "v1", nil); err != nil {
		t.Fatal(err)
	}
	write(t, root, map[string]string{"inbox/a/left.ply": "A2"})
	cmd := exec.Command(os.Args[0], "-test.run=^TestKilledRun$", "-test.timeout=60s")
	cmd.Env = append(os.Environ(), shopOfVictim+"="+root)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() && lines.Text() != "half done" {
	}
	_, _, err = once(t, root, "v1", nil)
	if !errors.Is(err, ErrInUse) || !strings.Contains(err.Error(), "process "+strconv.Itoa(cmd.Process.Pid)) {
		t.Errorf("while the other run is alive: %v", err)
	}
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait() // says that it was killed
	if report(t, root, "a/left") != "A" || report(t, root, unfinished(t, root)) != "half" {
		t.Errorf("left by the killed run: %q", tree(t, filepath.Join(root, "outbox")))
	}
	s, jobs, err := once(t, root, "v1", nil)
	if err != nil || jobs != "a left" || s.Made != 1 || report(t, root, "a/left") != "A2" || report(t, root, unfinished(t, root)) != "none" {
		t.Errorf("the next run: %q, %+v, %v", jobs, s, err)
	}
}

// unfinished names the delivery that a killed run has left.
func unfinished(t *testing.T, root string) string {
	t.Helper()
	left, err := filepath.Glob(filepath.Join(root, "outbox", "a", making+"left*"))
	if err != nil || len(left) > 1 {
		t.Fatal(left, err)
	}
	return "a/" + filepath.Base(append(left, "none")[0])
}
