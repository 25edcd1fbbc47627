package shop

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// making begins the name of everything that is not finished. Nothing else in the outbox begins like this.
const making = ".making-"

// Publish puts the finished delivery in tmpDir into its place finalDir, whole or not at all: the files are
// on the disk before the folder gets its name. What stood in finalDir is moved to earlierDir, or, where
// that is taken, to a name after it ("-2", "-3"); earlierDir is not needed if nothing stood there. All three
// must lie on one file system. If it fails, finalDir is as it was, and tmpDir is left for the caller.
func Publish(tmpDir, finalDir, earlierDir string) error {
	if err := syncTree(tmpDir); err != nil {
		return fmt.Errorf("writing the delivery to disk: %w", err)
	}
	aside, err := setAside(finalDir, earlierDir)
	if err != nil {
		return err
	}
	if err := os.Rename(tmpDir, finalDir); err != nil {
		err = fmt.Errorf("putting the delivery into its place: %w", err)
		if aside != "" {
			err = errors.Join(err, os.Rename(aside, finalDir))
		}
		return err
	}
	if aside != "" {
		err = syncDir(filepath.Dir(aside))
	}
	return errors.Join(err, syncDir(filepath.Dir(finalDir)))
}

// setAside moves what stands in dir to earlierDir or a free name after it, and returns where it went; that
// is nowhere if nothing stands there.
func setAside(dir, earlierDir string) (string, error) {
	if _, err := os.Lstat(dir); errors.Is(err, fs.ErrNotExist) {
		return "", nil
	} else if err != nil {
		return "", err
	}
	if earlierDir == "" {
		return "", fmt.Errorf("%s is there already", dir)
	}
	if err := os.MkdirAll(filepath.Dir(earlierDir), 0o755); err != nil {
		return "", fmt.Errorf("keeping the earlier delivery: %w", err)
	}
	to := earlierDir
	for n := 2; ; n++ {
		if _, err := os.Lstat(to); errors.Is(err, fs.ErrNotExist) {
			break
		} else if err != nil {
			return "", fmt.Errorf("keeping the earlier delivery: %w", err)
		}
		to = fmt.Sprintf("%s-%d", earlierDir, n)
	}
	if err := os.Rename(dir, to); err != nil {
		return "", fmt.Errorf("keeping the earlier delivery (is a file of %s open in another program?): %w", dir, err)
	}
	return to, nil
}

// syncTree has every file and folder under dir written to the disk, the folders after what they hold.
func syncTree(dir string) error {
	var dirs []string
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case e.IsDir():
			dirs = append(dirs, path)
			return nil
		case e.Type().IsRegular():
			return syncFile(path)
		}
		return fmt.Errorf("%s is neither a file nor a folder", path)
	})
	for i := len(dirs) - 1; i >= 0 && err == nil; i-- {
		err = syncDir(dirs[i])
	}
	return err
}

// Sweep removes from a shop's outbox what a run that was killed left unfinished. It touches nothing else.
// Only the holder of the shop's lock may call it.
func Sweep(root string) error {
	outbox := Dir(root)
	err := sweep(outbox)
	folders, _ := os.ReadDir(outbox)
	for _, f := range folders {
		if f.IsDir() && !strings.HasPrefix(f.Name(), ".") {
			err = errors.Join(err, sweep(filepath.Join(outbox, f.Name())))
		}
	}
	return err
}

func sweep(dir string) error {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), making) {
			err = errors.Join(err, os.RemoveAll(filepath.Join(dir, e.Name())))
		}
	}
	return err
}

// replaceFile writes a file whole or not at all, and not at all if it holds these contents already.
func replaceFile(path string, data []byte) error {
	if old, err := os.ReadFile(path); err == nil && string(old) == string(data) {
		return nil
	}
	tmp := filepath.Join(filepath.Dir(path), making+filepath.Base(path))
	err := os.WriteFile(tmp, data, 0o644)
	if err == nil {
		err = syncFile(tmp)
	}
	if err == nil {
		err = os.Rename(tmp, path)
	}
	if err != nil {
		return errors.Join(err, removeIfThere(tmp))
	}
	return syncDir(filepath.Dir(path))
}

func removeIfThere(path string) error {
	if err := os.Remove(path); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}
