package main

import (
	"os"
	"path/filepath"
	"testing"
)

// TestAirfoilOf finds the airfoil's line in a sheet whatever its editor saved it in.
func TestAirfoilOf(t *testing.T) {
	for name, text := range map[string]string{
		"plain":  "airfoil = \"a\"\n",
		"marked": "\ufeffairfoil = \"a\"\r\n",
		"UTF-16": "\xff\xfea\x00i\x00r\x00f\x00o\x00i\x00l\x00=\x00'\x00a\x00'\x00\n\x00",
	} {
		path := filepath.Join(t.TempDir(), "wing.toml")
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if got, line := airfoilOf(path); got != "a" || line != 1 {
			t.Errorf("%s: airfoil %q in line %d", name, got, line)
		}
	}
}
