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

// settling begins the name of a whole delivery on its way to its place, or, once it has changed places with
// the one that stood there, of that one on its way to earlier. What follows is the name it gets there.
const settling = ".settling-"

// Publish puts the finished delivery in tmpDir into its place finalDir, whole or not at all: the files are
// on the disk before the folder gets its name. What stood in finalDir is moved to earlierDir, or, where
// that is taken, to a name after it ("-2", "-3"); earlierDir is not needed if nothing stood there. All three
// must lie on one file system. If it fails, finalDir is as it was, and tmpDir is left for the caller.
//
// Where the file system can exchange two folders at one stroke, the old or the new delivery stands in
// finalDir at every moment; elsewhere a kill between two renames leaves none there until [Sweep] puts the new
// one in.
func Publish(tmpDir, finalDir, earlierDir string) error {
	return keeper{realDisk{}}.publish(tmpDir, finalDir, earlierDir)
}

func (k keeper) publish(tmpDir, finalDir, earlierDir string) error {
	if err := k.syncTree(tmpDir); err != nil {
		return fmt.Errorf("writing the delivery to disk: %w", err)
	}
	stands, err := standing(finalDir)
	if err != nil {
		return err
	}
	if stands {
		return k.replace(tmpDir, finalDir, earlierDir)
	}
	if err := k.Rename(tmpDir, finalDir); err != nil {
		return fmt.Errorf("putting the delivery into its place: %w", err)
	}
	return k.SyncDir(filepath.Dir(finalDir))
}

// replace puts a delivery into the place of another, which it moves to earlier.
func (k keeper) replace(tmpDir, finalDir, earlierDir string) error {
	to, err := k.earlierPlace(finalDir, earlierDir)
	if err != nil {
		return err
	}
	between := filepath.Join(filepath.Dir(finalDir), settling+filepath.Base(earlierDir))
	if err := k.Rename(tmpDir, between); err != nil {
		return fmt.Errorf("putting the delivery into its place: %w", err)
	}
	if err := k.exchange(between, finalDir, to); err != nil {
		return errors.Join(err, k.Rename(between, tmpDir))
	}
	return errors.Join(k.SyncDir(filepath.Dir(to)), k.SyncDir(filepath.Dir(finalDir)))
}

// exchange puts what lies in between into finalDir and what stood there into to. If it fails, both are where
// they were.
func (k keeper) exchange(between, finalDir, to string) error {
	err := k.Exchange(between, finalDir)
	switch {
	case errors.Is(err, errors.ErrUnsupported):
		if err := k.Rename(finalDir, to); err != nil {
			return keeping(finalDir, err)
		}
		if err := k.Rename(between, finalDir); err != nil {
			return errors.Join(fmt.Errorf("putting the delivery into its place: %w", err), k.Rename(to, finalDir))
		}
		return nil
	case err != nil:
		return fmt.Errorf("putting the delivery into its place: %w", err)
	}
	if err := k.Rename(between, to); err != nil {
		return errors.Join(keeping(finalDir, err), k.Exchange(between, finalDir))
	}
	return nil
}

func keeping(dir string, err error) error {
	return fmt.Errorf("keeping the earlier delivery (is a file of %s open in another program?): %w", dir, err)
}

// earlierPlace returns the free place in earlier for what stands in dir.
func (k keeper) earlierPlace(dir, earlierDir string) (string, error) {
	if earlierDir == "" {
		return "", fmt.Errorf("%s is there already", dir)
	}
	if err := k.MkdirAll(filepath.Dir(earlierDir)); err != nil {
		return "", fmt.Errorf("keeping the earlier delivery: %w", err)
	}
	to := earlierDir
	for n := 2; ; n++ {
		stands, err := standing(to)
		if err != nil {
			return "", fmt.Errorf("keeping the earlier delivery: %w", err)
		}
		if !stands {
			return to, nil
		}
		to = fmt.Sprintf("%s-%d", earlierDir, n)
	}
}

// setAside moves what stands in dir to earlierDir or a free name after it, and returns where it went; that
// is nowhere if nothing stands there.
func (k keeper) setAside(dir, earlierDir string) (string, error) {
	if stands, err := standing(dir); err != nil || !stands {
		return "", err
	}
	to, err := k.earlierPlace(dir, earlierDir)
	if err != nil {
		return "", err
	}
	if err := k.Rename(dir, to); err != nil {
		return "", keeping(dir, err)
	}
	return to, errors.Join(k.SyncDir(filepath.Dir(to)), k.SyncDir(filepath.Dir(dir)))
}

// syncTree has every file and folder under dir written to the disk, the folders after what they hold.
func (k keeper) syncTree(dir string) error {
	var dirs []string
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case e.IsDir():
			dirs = append(dirs, path)
			return nil
		case e.Type().IsRegular():
			return k.SyncFile(path)
		}
		return fmt.Errorf("%s is neither a file nor a folder", path)
	})
	for i := len(dirs) - 1; i >= 0 && err == nil; i-- {
		err = k.SyncDir(dirs[i])
	}
	return err
}

// Sweep clears a shop's outbox of what a run that was killed left: it removes what is unfinished and brings
// whole deliveries to where they were going. It touches nothing else. Only the holder of the shop's lock may
// call it.
func Sweep(root string) error { return keeper{realDisk{}}.sweep(root) }

func (k keeper) sweep(root string) error {
	outbox := Dir(root)
	err := k.sweepDir(outbox)
	folders, _ := os.ReadDir(outbox)
	for _, f := range folders {
		if f.IsDir() && !strings.HasPrefix(f.Name(), ".") {
			err = errors.Join(err, k.sweepDir(filepath.Join(outbox, f.Name())))
		}
	}
	return err
}

func (k keeper) sweepDir(dir string) error {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	for _, e := range entries {
		switch {
		case strings.HasPrefix(e.Name(), making):
			err = errors.Join(err, k.RemoveAll(filepath.Join(dir, e.Name())))
		case strings.HasPrefix(e.Name(), settling):
			err = errors.Join(err, k.settle(dir, strings.TrimPrefix(e.Name(), settling)))
		}
	}
	return err
}

// settle ends the replacement of a delivery that a kill has cut short. The name tells what the replaced one
// is to be called in earlier, by its record, so that it can be told from the one that was to replace it.
func (k keeper) settle(dir, name string) error {
	between := filepath.Join(dir, settling+name)
	side, of, _ := strings.Cut(name, "-")
	final := filepath.Join(dir, side)
	stands, err := standing(final)
	switch {
	case err != nil:
		return err
	case !stands:
		err = k.Rename(between, final)
	case earlierName(ReadRecord(between, filepath.Base(dir), side)) == of:
		_, err = k.setAside(between, filepath.Join(dir, "earlier", name))
	default:
		err = k.RemoveAll(between)
	}
	return errors.Join(err, k.SyncDir(dir))
}
