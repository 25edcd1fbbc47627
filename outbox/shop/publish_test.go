package shop

import (
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// write makes files under dir; names that end with / are folders.
func write(t *testing.T, dir string, files map[string]string) {
	t.Helper()
	for name, text := range files {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if strings.HasSuffix(name, "/") {
			if err := os.MkdirAll(path, 0o755); err != nil {
				t.Fatal(err)
			}
		} else if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// tree reads all files under dir back; empty folders end with /.
func tree(t *testing.T, dir string) map[string]string {
	t.Helper()
	got := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name, _ := filepath.Rel(dir, path)
		name = filepath.ToSlash(name)
		if !e.IsDir() {
			text, err := os.ReadFile(path)
			got[name] = string(text)
			return err
		}
		if inside, err := os.ReadDir(path); err != nil || len(inside) > 0 {
			return err
		}
		got[name+"/"] = ""
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return got
}

func same(t *testing.T, what string, got, want map[string]string) {
	t.Helper()
	if !maps.Equal(got, want) {
		t.Errorf("%s:\n%q\nwant\n%q", what, got, want)
	}
}

func TestPublish(t *testing.T) {
	dir := t.TempDir()
	publish := func(text string) error {
		write(t, dir, map[string]string{"tmp/report.html": text, "tmp/sub/more": text})
		return Publish(filepath.Join(dir, "tmp"), filepath.Join(dir, "a", "left"), filepath.Join(dir, "a", "earlier", "left-1"))
	}
	write(t, dir, map[string]string{"a/": ""})
	if err := publish("one"); err != nil {
		t.Fatal(err)
	}
	same(t, "the first", tree(t, dir), map[string]string{"a/left/report.html": "one", "a/left/sub/more": "one"})
	for _, text := range []string{"two", "three", "four"} {
		if err := publish(text); err != nil {
			t.Fatal(err)
		}
	}
	same(t, "those that were replaced", tree(t, dir), map[string]string{
		"a/left/report.html": "four", "a/left/sub/more": "four",
		"a/earlier/left-1/report.html": "one", "a/earlier/left-1/sub/more": "one",
		"a/earlier/left-1-2/report.html": "two", "a/earlier/left-1-2/sub/more": "two",
		"a/earlier/left-1-3/report.html": "three", "a/earlier/left-1-3/sub/more": "three",
	})
}

func TestPublishFails(t *testing.T) {
	for name, c := range map[string]struct {
		files               map[string]string
		tmp, final, earlier string
		wantErr             string
	}{
		"earlier is a file":       {map[string]string{"tmp/r": "new", "a/left/r": "old", "a/earlier": "x"}, "tmp", "a/left", "a/earlier/left-1", "keeping the earlier delivery"},
		"no name for the earlier": {map[string]string{"tmp/r": "new", "a/left/r": "old"}, "tmp", "a/left", "", "is there already"},
		"nothing to publish":      {map[string]string{"a/left/r": "old"}, "tmp", "a/left", "a/earlier/left-1", "writing the delivery to disk"},
		"no folder to put it":     {map[string]string{"tmp/r": "new"}, "tmp", "a/left", "a/earlier/left-1", "putting the delivery into its place"},
		"a file for the folder":   {map[string]string{"tmp/r": "new", "a": "x"}, "tmp", "a/left", "a/earlier/left-1", "a/left"},
		"into itself":             {map[string]string{"tmp/r": "new", "tmp/left/r": "old"}, "tmp", "tmp/left", "earlier/left-1", "putting the delivery into its place"},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			write(t, dir, c.files)
			before := tree(t, dir)
			path := func(p string) string {
				if p == "" {
					return ""
				}
				return filepath.Join(dir, filepath.FromSlash(p))
			}
			err := Publish(path(c.tmp), path(c.final), path(c.earlier))
			if err == nil || !strings.Contains(filepath.ToSlash(err.Error()), c.wantErr) {
				t.Errorf("%v, want %s", err, c.wantErr)
			}
			after := tree(t, dir)
			delete(after, "earlier/") // an empty folder may be left
			same(t, "what failed has changed", after, before)
		})
	}
}

func TestPublishRefusesLinks(t *testing.T) {
	dir := t.TempDir()
	write(t, dir, map[string]string{"tmp/r": "new"})
	if err := os.Symlink("r", filepath.Join(dir, "tmp", "link")); err != nil {
		t.Skip("this system makes no links: ", err)
	}
	if err := Publish(filepath.Join(dir, "tmp"), filepath.Join(dir, "left"), ""); err == nil || !strings.Contains(err.Error(), "neither a file nor a folder") {
		t.Errorf("a delivery with a link in it: %v", err)
	}
}

func TestSweep(t *testing.T) {
	root := t.TempDir()
	kept := map[string]string{
		"inbox/a/.making-left/x": "the builder's", "outbox/a/left/r": "x", "outbox/a/left/.making-x": "x", "outbox/.lock": "", "outbox/index.html": "x",
		"outbox/a/earlier/left-1/r": "x", "outbox/a/making-left": "x", "outbox/.hidden/.making-left": "x",
	}
	write(t, root, kept)
	write(t, root, map[string]string{"outbox/a/.making-left/r": "x", "outbox/a/.making-pair/": "", "outbox/.making-index.html": "x"})
	if err := Sweep(root); err != nil {
		t.Fatal(err)
	}
	same(t, "swept", tree(t, root), kept)
	if err := Sweep(t.TempDir()); err != nil {
		t.Errorf("no outbox yet: %v", err)
	}
}

func TestReplaceFile(t *testing.T) {
	k := keeper{realDisk{}}
	path := filepath.Join(t.TempDir(), "index.html")
	for _, text := range []string{"one", "two"} {
		if err := k.replaceFile(path, []byte(text)); err != nil {
			t.Fatal(err)
		}
	}
	before, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := k.replaceFile(path, []byte("two")); err != nil {
		t.Fatal(err)
	}
	if after, err := os.Stat(path); err != nil || !os.SameFile(before, after) {
		t.Errorf("the same page was written again: %v", err)
	}
	write(t, filepath.Dir(path), map[string]string{"folder/x": ""})
	if err := k.replaceFile(filepath.Join(filepath.Dir(path), "folder"), []byte("x")); err == nil {
		t.Error("a folder was replaced by a file")
	}
	names, err := filepath.Glob(filepath.Join(filepath.Dir(path), "*"))
	if err != nil || !slices.Equal(names, []string{filepath.Join(filepath.Dir(path), "folder"), path}) {
		t.Errorf("left behind: %v, %v", names, err)
	}
}
