package inbox

import (
	"cmp"
	"path/filepath"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// sheetName is the wing sheet's file name, in any case.
const sheetName = "wing.toml"

// passedOver tells by its name that a file is nobody's concern: hidden files and the system's own, and the
// names under which copy and sync programs keep what they have not finished.
func passedOver(name string) bool {
	lower := strings.ToLower(name)
	if strings.HasPrefix(lower, ".") || strings.HasPrefix(lower, "~") || strings.HasSuffix(lower, "~") {
		return true
	}
	if slices.Contains([]string{"thumbs.db", "desktop.ini", "lost+found"}, lower) {
		return true
	}
	return slices.ContainsFunc([]string{".part", ".partial", ".crdownload", ".download", ".tmp", ".temp", ".!sync", ".icloud", ".filepart", ".swp",
		".opdownload", ".drivedownload", ".aria2", ".!ut", ".downloading", ".uploading", ".incomplete", ".unfinished"},
		func(end string) bool { return strings.HasSuffix(lower, end) })
}

// contested tells by its name that a sync program kept a second version of a file, because two devices
// changed it. Only the builder can say which of the two counts.
func contested(name string) bool {
	lower := strings.ToLower(name)
	return slices.ContainsFunc([]string{"conflicted copy", "sync-conflict", "(conflict"},
		func(mark string) bool { return strings.Contains(lower, mark) })
}

// folded returns a name that is the same for all names that a disk may take for one: taken apart into characters
// and accents, and of the characters that differ by case the one with the least number. Bytes that are no text
// stay as they are.
func folded(name string) string {
	var b strings.Builder
	for name = norm.NFD.String(name); name != ""; {
		r, n := utf8.DecodeRuneInString(name)
		if r == utf8.RuneError {
			b.WriteString(name[:n])
		} else {
			b.WriteRune(leastCase(r))
		}
		name = name[n:]
	}
	return b.String()
}

func leastCase(r rune) rune {
	least := r
	for next := unicode.SimpleFold(r); next != r; next = unicode.SimpleFold(next) {
		least = min(least, next)
	}
	return least
}

// sideOf returns "left" or "right" for the name of a scan, and nothing for any other name.
func sideOf(name string) string {
	lower := strings.ToLower(name)
	switch {
	case contested(name) || isCompanion(name):
	case strings.HasPrefix(lower, "left"):
		return "left"
	case strings.HasPrefix(lower, "right"):
		return "right"
	}
	return ""
}

// isCompanion tells a picture or a material file, which scanning programs write beside a coloured mesh.
func isCompanion(name string) bool {
	return slices.Contains([]string{".mtl", ".jpg", ".jpeg", ".png", ".heic", ".webp", ".tga", ".bmp", ".tif", ".tiff"}, extension(name))
}

// isColouredMesh tells a format of mesh that brings companions along.
func isColouredMesh(name string) bool {
	return slices.Contains([]string{".obj", ".gltf", ".dae"}, extension(name))
}

func extension(name string) string { return strings.ToLower(filepath.Ext(name)) }

// Compare orders file names as a builder counts: left.ply, left-2.ply, left-10.ply. Case does not matter
// but to tell otherwise equal names apart.
func Compare(a, b string) int {
	stemA, stemB := strings.TrimSuffix(a, filepath.Ext(a)), strings.TrimSuffix(b, filepath.Ext(b))
	return cmp.Or(
		natural(strings.ToLower(stemA), strings.ToLower(stemB)),
		natural(extension(a), extension(b)),
		strings.Compare(a, b))
}

// natural compares text by characters, but runs of digits by their value.
func natural(a, b string) int {
	for a != "" && b != "" {
		da, db := digits(a), digits(b)
		if da > 0 && db > 0 {
			na, nb := strings.TrimLeft(a[:da], "0"), strings.TrimLeft(b[:db], "0")
			if c := cmp.Or(cmp.Compare(len(na), len(nb)), strings.Compare(na, nb)); c != 0 {
				return c
			}
			a, b = a[da:], b[db:]
			continue
		}
		if a[0] != b[0] {
			return cmp.Compare(a[0], b[0])
		}
		a, b = a[1:], b[1:]
	}
	return cmp.Compare(len(a), len(b))
}

// digits counts the digits that s begins with.
func digits(s string) int {
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return n
}
