package shop

import (
	"bytes"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A file that lies loose in the inbox is named in the log, once as long as it lies there.
func TestLeftOutIsLogged(t *testing.T) {
	root := t.TempDir()
	write(t, root, map[string]string{"inbox/left.ply": "x"})
	var log bytes.Buffer
	r := newRun(root, &bench{}, Options{Version: "v1", Log: slog.New(slog.NewTextHandler(&log, nil))})
	look := func(want int) {
		t.Helper()
		if err := r.look(t.Context(), nil); err != nil {
			t.Fatal(err)
		}
		if got := strings.Count(log.String(), "left.ply lies in the inbox itself"); got != want {
			t.Errorf("told %d times, want %d: %s", got, want, log.String())
		}
	}
	look(1)
	look(1)
	stray := filepath.Join(root, "inbox", "left.ply")
	if err := os.Remove(stray); err != nil {
		t.Fatal(err)
	}
	look(1)
	if err := os.WriteFile(stray, []byte("x"), 0o644); err != nil {
		t.Fatal(err)
	}
	look(2)
}
