package shop

import (
	"slices"
	"strings"
)

// advice says what may be wrong with files that are neither scan nor wing sheet, empty if nothing is to be said.
func advice(strange []string) string {
	var says []string
	for _, kind := range []struct {
		of  func(name string) bool
		say string
	}{
		{likeSheet, "A wing sheet is named wing.toml, and nothing comes after that: some systems hide a last .txt."},
		{likePhoto, "Scans are files such as PLY, STL, OBJ, GLB or XYZ; photographs go through a scanning program first."},
		{func(name string) bool { return !likeSheet(name) && !likePhoto(name) }, "A scan's name begins with left or right, and the scan lies in the aircraft's own folder."},
	} {
		if slices.ContainsFunc(strange, kind.of) {
			says = append(says, kind.say)
		}
	}
	return strings.Join(says, " ")
}

// likeSheet tells whether a file was meant to be a wing sheet.
func likeSheet(name string) bool {
	name = strings.ToLower(name)
	return strings.HasSuffix(name, ".toml") || strings.HasPrefix(name, "wing") && (strings.HasSuffix(name, ".txt") || strings.Contains(name, ".toml"))
}

// likePhoto tells whether a file bears a scan's name but is of no format in which there are scans.
func likePhoto(name string) bool {
	return !likeSheet(name) && !strings.Contains(name, ": ") && sideOfScan(name) != "?"
}
