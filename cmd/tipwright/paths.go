package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// readable returns an error in words, with the mend, unless there is a file at path; what says what it should be.
func readable(path, what, mend string) error {
	info, err := os.Stat(path)
	switch {
	case path == "":
		return fmt.Errorf("the name of %s is empty. %s", what, mend)
	case errors.Is(err, fs.ErrNotExist) && isLink(path):
		return fmt.Errorf("%s is a link that leads nowhere. Copy the file itself to its place", path)
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("%s is not there. Check the name and the folder", path)
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%s cannot be read. Allow the program to read it", path)
	case err != nil:
		return fmt.Errorf("%s cannot be read (%w). Check the name and the folder", path, cause(err))
	case info.IsDir():
		return fmt.Errorf("%s is not a file but a folder; %s is expected. %s", path, what, mend)
	case !info.Mode().IsRegular():
		return fmt.Errorf("%s is not a file; %s is expected. %s", path, what, mend)
	}
	return nil
}

// folder returns an error in words unless there is a folder at path, or nothing at all; what says what it should
// be.
func folder(path, what string) error {
	info, err := os.Stat(path)
	switch {
	case path == "":
		return fmt.Errorf("the name of %s is empty. Name a folder", what)
	case errors.Is(err, fs.ErrNotExist) && isLink(path):
		return fmt.Errorf("%s is a link that leads nowhere. Name the folder itself", path)
	case err == nil && !info.IsDir():
		return fmt.Errorf("%s is not a folder but a file. Name a folder for %s", path, what)
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("%s cannot be used as %s (%w). Name another folder", path, what, cause(err))
	}
	return nil
}

func isLink(path string) bool {
	info, err := os.Lstat(filepath.Clean(path))
	return err == nil && info.Mode()&fs.ModeSymlink != 0
}

// cause leaves out the system call and the path, which the message has.
func cause(err error) error {
	if at, ok := errors.AsType[*fs.PathError](err); ok {
		return at.Err
	}
	return err
}
