package airfoil

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"tipwright/scan"
)

// Load makes the section that a wing sheet names: by formula if nameOrFile is a designation, else of the
// coordinate file of that name in dir, the folder of the sheet. A path that leads out of dir is refused.
// sha256hex is the SHA-256 of the file's contents, empty for a section by formula.
func Load(nameOrFile, dir string) (a *Airfoil, sha256hex string, err error) {
	if IsDesignation(nameOrFile) {
		a, err = Parse(nameOrFile)
		return a, "", err
	}
	data, err := readBeside(nameOrFile, dir)
	if err != nil {
		return nil, "", err
	}
	if a, err = Read(bytes.NewReader(data), filepath.Base(nameOrFile)); err != nil {
		return nil, "", err
	}
	sum := sha256.Sum256(data)
	return a, hex.EncodeToString(sum[:]), nil
}

// readBeside returns the contents of a coordinate file in dir, one byte more than the bound at most.
func readBeside(name, dir string) ([]byte, error) {
	fail := func(msg, mend string, err error) error {
		return &scan.FormatError{File: name, Msg: msg, Mend: mend, Err: err}
	}
	const beside = "Put the coordinate file into the folder of the wing sheet and give its bare name"
	if name == "" {
		return nil, fail("no airfoil is named", `Write airfoil = "NACA 23012", or the name of a coordinate file beside the wing sheet`, nil)
	}
	if !filepath.IsLocal(name) {
		return nil, fail("lies outside the folder of the wing sheet", beside, nil)
	}
	root, err := os.OpenRoot(cmp.Or(dir, "."))
	if err != nil {
		return nil, fail("the folder of the wing sheet cannot be opened", "", err)
	}
	defer root.Close()
	info, err := root.Stat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist) && sameButCase(root, name) != "":
		return nil, fail(fmt.Sprintf("the file beside the wing sheet is called %q", sameButCase(root, name)), "Write its name letter for letter", fs.ErrNotExist)
	case errors.Is(err, fs.ErrNotExist):
		return nil, fail("there is no such file beside the wing sheet, nor is it a NACA name", beside+
			", or name the section, as in airfoil = \"NACA 23012\"", fs.ErrNotExist)
	case err != nil:
		return nil, fail("cannot be opened", beside, err)
	case !info.Mode().IsRegular():
		return nil, fail("is not a file", beside, nil)
	}
	file, err := root.Open(name)
	if err != nil {
		return nil, fail("cannot be opened", beside, err)
	}
	defer file.Close()
	data, err := io.ReadAll(io.LimitReader(file, mostSize+1))
	if err != nil {
		return nil, fail("cannot be read to its end", "", err)
	}
	return data, nil
}

// sameButCase returns the name of a file in the folder that differs from name in capitals only.
func sameButCase(root *os.Root, name string) string {
	entries, err := fs.ReadDir(root.FS(), ".")
	if err != nil {
		return ""
	}
	for _, e := range entries {
		if strings.EqualFold(e.Name(), name) {
			return e.Name()
		}
	}
	return ""
}
