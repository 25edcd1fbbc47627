package inbox

import (
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
)

// write makes files in a shop; names end with / for folders.
func write(t *testing.T, shop string, files map[string]string) {
	t.Helper()
	for name, text := range files {
		path := filepath.Join(shop, filepath.FromSlash(name))
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

func TestList(t *testing.T) {
	shop := t.TempDir()
	write(t, shop, map[string]string{
		"inbox/marsh-wren/wing.toml":         "airfoil = \"mysection.dat\"\n",
		"inbox/marsh-wren/mysection.dat":     "x",
		"inbox/marsh-wren/other.dat":         "x",
		"inbox/marsh-wren/left.ply":          "x",
		"inbox/marsh-wren/Left-10.ply":       "x",
		"inbox/marsh-wren/left-2.ply":        "x",
		"inbox/marsh-wren/right.obj":         "x",
		"inbox/marsh-wren/right.mtl":         "x",
		"inbox/marsh-wren/right_0.jpg":       "x",
		"inbox/marsh-wren/left.ply.part":     "x",
		"inbox/marsh-wren/.DS_Store":         "x",
		"inbox/marsh-wren/notes.txt":         "x",
		"inbox/marsh-wren/photos/left.ply":   "x",
		"inbox/aircraft 10/left.ply":         "x",
		"inbox/aircraft 10/left.jpg":         "x",
		"inbox/aircraft 10/Wing.TOML":        "chord = 1220\nairfoil = \"a.dat\"\n",
		"inbox/aircraft 10/a.dat":            "x",
		"inbox/aircraft 9/":                  "",
		"inbox/index.html/left.ply":          "x",
		"inbox/left.ply":                     "x",
		"inbox/.hidden/left.ply":             "x",
		"inbox/.DS_Store":                    "x",
		"outbox/marsh-wren/left/result.json": "{}",
	})
	got, messages, err := List(shop)
	if err != nil {
		t.Fatal(err)
	}
	in := filepath.Join(shop, "inbox")
	ten, wren := filepath.Join(in, "aircraft 10"), filepath.Join(in, "marsh-wren")
	want := []Aircraft{
		{Name: "aircraft 9", Dir: filepath.Join(in, "aircraft 9")},
		{Name: "aircraft 10", Dir: ten, SheetPath: filepath.Join(ten, "Wing.TOML"), Left: []string{filepath.Join(ten, "left.ply")},
			Strange: []string{"a.dat", "left.jpg"}}, // the sheet is wrong, so nothing is known of its airfoil
		{Name: "marsh-wren", Dir: wren, SheetPath: filepath.Join(wren, "wing.toml"), AirfoilPath: filepath.Join(wren, "mysection.dat"),
			Left:    []string{filepath.Join(wren, "left.ply"), filepath.Join(wren, "left-2.ply"), filepath.Join(wren, "Left-10.ply")},
			Right:   []string{filepath.Join(wren, "right.obj")},
			Strange: []string{"notes.txt", "other.dat", "photos: a folder in an aircraft's folder"}},
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("listed\n%+v\nwant\n%+v", got, want)
	}
	var codes []string
	for _, m := range messages {
		codes = append(codes, m.Code)
	}
	if want := []string{"name-taken", "stray-file"}; !slices.Equal(codes, want) {
		t.Errorf("told %v, want %v", messages, want)
	}
}

// Names that a disk may take for one are not both served.
func TestListNamesByCase(t *testing.T) {
	shop := t.TempDir()
	write(t, shop, map[string]string{"inbox/Wren/left.ply": "x", "inbox/wren/left.ply": "y", "inbox/wren 2/left.ply": "z"})
	if entries, err := os.ReadDir(filepath.Join(shop, "inbox")); err != nil || len(entries) < 3 {
		t.Skip("this disk takes them for one")
	}
	got, messages, err := List(shop)
	if err != nil || len(got) != 2 || got[0].Name != "Wren" || got[1].Name != "wren 2" {
		t.Errorf("listed %+v, %v", got, err)
	}
	if len(messages) != 1 || messages[0].Code != "name-taken" || !strings.Contains(messages[0].Text, "wren was left out") {
		t.Errorf("told %v", messages)
	}
}

func TestListTwoSheets(t *testing.T) {
	shop := t.TempDir()
	write(t, shop, map[string]string{"inbox/a/wing.toml": "", "inbox/a/WING.toml": ""})
	got, _, err := List(shop)
	if err != nil || len(got) != 1 {
		t.Fatal(got, err)
	}
	if filepath.Base(got[0].SheetPath) != "wing.toml" || len(got[0].Strange) > 1 {
		t.Errorf("of two sheets the one that is named right counts: %+v", got[0])
	}
}

func TestListWithoutInbox(t *testing.T) {
	if _, _, err := List(t.TempDir()); !errors.Is(err, os.ErrNotExist) || !strings.Contains(err.Error(), "a shop is a folder") {
		t.Errorf("a folder that is no shop: %v", err)
	}
	shop := t.TempDir()
	write(t, shop, map[string]string{"inbox": "a file"})
	if _, _, err := List(shop); err == nil {
		t.Error("a file was listed as an inbox")
	}
}

func TestListLinks(t *testing.T) {
	shop, away := t.TempDir(), t.TempDir()
	write(t, away, map[string]string{"left.ply": "x", "wing.toml": "", "folder/left.ply": "x"})
	write(t, shop, map[string]string{"inbox/a/right.ply": "x", "common/wing.toml": "chord = \"1 m\"\n"})
	in := filepath.Join(shop, "inbox")
	link := func(target, name string) {
		if err := os.Symlink(target, filepath.Join(in, name)); err != nil {
			t.Skip("this system makes no links: ", err)
		}
	}
	link(filepath.Join(away, "left.ply"), "a/left.ply")                   // out of the shop
	link(filepath.Join(away, "folder"), "b")                              // a folder out of the shop
	link("right.ply", "a/right-2.ply")                                    // beside
	link(filepath.Join("..", "..", "common", "wing.toml"), "a/wing.toml") // within the shop
	link("nowhere.ply", "a/left-2.ply")
	link("left-3.ply", "a/left-3.ply") // to itself
	link(in, "a/left-4")               // to a folder
	link(os.DevNull, "a/left-5.ply")   // to a device
	got, messages, err := List(shop)
	if err != nil || len(got) != 1 {
		t.Fatal(got, err)
	}
	a := filepath.Join(in, "a")
	want := Aircraft{Name: "a", Dir: a, SheetPath: filepath.Join(a, "wing.toml"), Right: []string{filepath.Join(a, "right.ply"), filepath.Join(a, "right-2.ply")},
		Strange: []string{"left.ply: a link that leads out of the shop", "left-2.ply: a link that leads nowhere", "left-3.ply: a link that leads nowhere",
			"left-4: a link that leads to no file", "left-5.ply: a link that leads out of the shop"}}
	if !reflect.DeepEqual(got[0], want) {
		t.Errorf("listed\n%+v\nwant\n%+v", got[0], want)
	}
	if len(messages) != 1 || messages[0].Code != "link-left-out" {
		t.Errorf("told %v", messages)
	}
}

// The inbox itself may be a link, as to a folder that a phone fills.
func TestListLinkedInbox(t *testing.T) {
	shop, phone := t.TempDir(), t.TempDir()
	write(t, phone, map[string]string{"a/left.ply": "x"})
	if err := os.Symlink(phone, filepath.Join(shop, "inbox")); err != nil {
		t.Skip("this system makes no links: ", err)
	}
	if err := os.Symlink("left.ply", filepath.Join(phone, "a", "left-2.ply")); err != nil {
		t.Fatal(err)
	}
	got, _, err := List(shop)
	if err != nil || len(got) != 1 || len(got[0].Left) != 2 {
		t.Errorf("listed %+v, %v", got, err)
	}
}
