package inbox

import (
	"io/fs"
	"os"
)

// StampOf looks at a file, or at what a link leads to.
func StampOf(path string) (Stamp, error) { return stamped(os.Stat(path)) }

// StampOfOpen looks at an open file, whatever its name leads to by now.
func StampOfOpen(f *os.File) (Stamp, error) { return stamped(f.Stat()) }

func stamped(info fs.FileInfo, err error) (Stamp, error) {
	if err != nil {
		return Stamp{}, err
	}
	return Stamp{Size: info.Size(), Modified: info.ModTime().UnixNano()}, nil
}
