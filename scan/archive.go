package scan

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"
)

// archive is a ZIP archive whose members are read one by one; nothing is ever unpacked to the disk.
type archive struct {
	in    *input
	files []*zip.File
}

// unpackFirst is what to do about an archive that holds what is not read from it.
const unpackFirst = "Unpack it, and use the scan's own file"

func looksZIP(in *input) bool {
	return bytes.HasPrefix(in.data, []byte("PK\x03\x04")) || bytes.HasPrefix(in.data, []byte("PK\x05\x06"))
}

func openArchive(in *input) (*archive, error) {
	if err := in.load(); err != nil {
		return nil, err
	}
	r, err := zip.NewReader(bytes.NewReader(in.data), in.size)
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) { // names that lead elsewhere are never followed
		f := in.refuse(stillCopying, "the list of files at the end of the archive is missing or damaged")
		f.Err = err
		return nil, f
	}
	a := &archive{in: in}
	for _, f := range r.File {
		if !strings.HasSuffix(f.Name, "/") {
			a.files = append(a.files, f)
		}
	}
	return a, nil
}

// find returns the member of that name in any case, as the packaging standards want it; nil if there is none.
func (a *archive) find(name string) *zip.File {
	i := slices.IndexFunc(a.files, func(f *zip.File) bool { return strings.EqualFold(f.Name, name) })
	if i < 0 {
		return nil
	}
	return a.files[i]
}

// mostPacked is how many times its packed size a member may have: text of numbers shrinks to a fifth or so, a
// grid of mostly empty points to a fiftieth (common practice, no source). More is meant to fill memory.
const mostPacked = 200

// open opens a member to read, after its promised size was held to the limits. No more than that is ever read.
func (a *archive) open(f *zip.File) (io.ReadCloser, int64, error) {
	size := f.UncompressedSize64
	switch {
	case f.Flags&1 != 0:
		return nil, 0, a.in.refuse("Pack it again without a password", "%s in it is locked with a password", shown([]byte(f.Name)))
	case size > uint64(a.in.lim.MaxBytes):
		return nil, 0, a.in.over(OverBytes, "%s in it unpacks to %d bytes, and no more than %d are read", shown([]byte(f.Name)), size, a.in.lim.MaxBytes)
	case size > 1<<20 && size/mostPacked > f.CompressedSize64:
		return nil, 0, a.in.refuse(unpackFirst, "%s in it unpacks from %d to %d bytes, which no scan does", shown([]byte(f.Name)), f.CompressedSize64, size)
	}
	r, err := f.Open()
	if err != nil {
		e := a.in.refuse("Pack it again with an ordinary ZIP program, or use the scan's own file", "%s in it cannot be unpacked", shown([]byte(f.Name)))
		e.Err = err
		return nil, 0, e
	}
	return &member{io.LimitReader(r, int64(size)+1), r, a.in, f.Name}, int64(size), nil
}

// member reads a file within an archive and tells damage in plain words.
type member struct {
	io.Reader
	io.Closer
	in   *input
	name string
}

// Read is part of [io.Reader].
func (m *member) Read(p []byte) (int, error) {
	n, err := m.Reader.Read(p)
	if err != nil && err != io.EOF {
		f := m.in.refuse(exportAgain, "%s in it is damaged", shown([]byte(m.name)))
		f.Err = err
		err = f
	}
	return n, err
}

// scanEndings are the names' endings under which a scan is looked for in an archive: first those that mean
// nothing else, then those of texts, which may also be remarks.
func scanEndings() [2][]string {
	return [2][]string{
		{".ply", ".stl", ".obj", ".glb", ".gltf", ".las", ".off", ".pcd", ".xyz", ".pts", ".3mf"},
		{".asc", ".csv", ".tsv", ".txt"},
	}
}

// readZIP reads the one scan in an archive, or what a 3MF file says.
func readZIP(in *input) (*Scan, error) {
	a, err := openArchive(in)
	if err != nil {
		return nil, err
	}
	if a.is3MF() {
		return a.read3MF()
	}
	if in.nested {
		return nil, in.refuse(unpackFirst, "it is an archive within an archive")
	}
	if len(a.files) > 0 && slices.Contains([]string{".usda", ".usdc", ".usd"}, endingOf(a.files[0].Name)) {
		return nil, in.refuseKind(foreign{what: "a USDZ file"})
	}
	f, err := a.pick()
	if err != nil {
		return nil, err
	}
	return a.decode(f)
}

func endingOf(name string) string { return strings.ToLower(path.Ext(name)) }

// pick finds the one scan among the members. Pictures, materials and what the system packs along do not matter.
func (a *archive) pick() (*zip.File, error) {
	for _, endings := range scanEndings() {
		var found []*zip.File
		for _, f := range a.files {
			if slices.Contains(endings, endingOf(f.Name)) && !isSystems(f.Name) {
				found = append(found, f)
			}
		}
		if len(found) == 1 {
			return found[0], nil
		}
		if len(found) > 1 {
			return nil, a.in.refuse("Pack only the one scan of this wing, or use its own file", "there are %d scans in it: %s", len(found), listed(found))
		}
	}
	for _, f := range a.files {
		if slices.Contains([]string{".zip", ".7z", ".rar", ".gz", ".tgz"}, endingOf(f.Name)) {
			return nil, a.in.refuse(unpackFirst, "there is another archive in it, %s", shown([]byte(f.Name)))
		}
	}
	if len(a.files) == 0 {
		return nil, a.in.refuse(exportInstead, "the archive is empty")
	}
	return nil, a.in.refuse(exportInstead, "there is no scan in it that can be read, only %s", listed(a.files))
}

// isSystems tells what an operating system puts into archives for itself.
func isSystems(name string) bool {
	return strings.HasPrefix(name, "__MACOSX/") || strings.HasPrefix(path.Base(name), ".")
}

// listed names the first few members.
func listed(files []*zip.File) string {
	const most = 4
	var names []string
	for _, f := range files[:min(len(files), most)] {
		names = append(names, shown([]byte(f.Name)))
	}
	if n := len(files) - most; n > 0 {
		names = append(names, fmt.Sprintf("and %d more", n))
	}
	return strings.Join(names, ", ")
}

// decode reads a member as if it were a file of its own, with the others beside it.
func (a *archive) decode(f *zip.File) (*Scan, error) {
	r, size, err := a.open(f)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	in := newInput(r, path.Base(f.Name), size, &Source{Bytes: size}, a.in.lim) // the archive is what is summed up
	if err := in.begin(headBytes); err != nil {
		return nil, a.within(f.Name, err)
	}
	in.nested = true
	in.beside = func(name string) (io.ReadCloser, int64, error) {
		other := a.find(path.Join(path.Dir(f.Name), name))
		if other == nil {
			return nil, 0, fs.ErrNotExist
		}
		return a.open(other)
	}
	s, err := decode(in)
	if err != nil {
		return nil, a.within(f.Name, err)
	}
	return s, nil
}

// within names the archive in an error about a member, and the member.
func (a *archive) within(name string, err error) error {
	var f *FormatError
	if !errors.As(err, &f) {
		f = &FormatError{Msg: "it cannot be read", Mend: exportAgain, Err: err}
	}
	inner := *f
	inner.File = fmt.Sprintf("%s in %s", path.Base(name), a.in.name)
	return &inner
}
