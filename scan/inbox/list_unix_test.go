//go:build unix

package inbox

import (
	"path/filepath"
	"slices"
	"syscall"
	"testing"
)

// A pipe named as a scan would be waited for without end.
func TestListPipe(t *testing.T) {
	shop := t.TempDir()
	write(t, shop, map[string]string{"inbox/a/": ""})
	pipe := filepath.Join(shop, "inbox", "a", "left.ply")
	if err := syscall.Mkfifo(pipe, 0o600); err != nil {
		t.Fatal(err)
	}
	got, _, err := List(shop)
	if err != nil || len(got) != 1 || got[0].Left != nil || !slices.Equal(got[0].Strange, []string{"left.ply: not a file that can be read to its end"}) {
		t.Errorf("listed %+v, %v", got, err)
	}
	if _, _, err := Stable(t.Context(), pipe); err == nil {
		t.Error("a pipe was read")
	}
}
