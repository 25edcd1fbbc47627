// Package outside lets tests ask programs and libraries that know nothing of tipwright: VTK, scipy, Open3D and
// others, through scripts for Debian's Python. Where one is missing the test says that it did not run and how to
// run it; where CI is set it fails, so that no check is passed by being absent.
package outside

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// Python is Debian's own, whose modules come with Debian's packages.
const Python = "/usr/bin/python3"

// missingModule is the exit status of a script that lacks a module.
const missingModule = 77

// debian returns the Debian package of a module.
func debian(module string) string {
	if module == "vtkmodules" {
		return "python3-vtk9"
	}
	return "python3-" + module
}

// Script runs a Python script that takes JSON from its standard input and writes JSON to its standard output:
// question goes in, the answer comes out. modules are those that the script imports.
func Script(t testing.TB, path string, question, answer any, modules ...string) {
	t.Helper()
	in, err := json.Marshal(question)
	if err != nil {
		t.Fatal(err)
	}
	script, err := filepath.Abs(path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(Python); err != nil {
		Missing(t, Python, "python3")
	}
	out, err := run(strings.NewReader(string(in)), Python, append([]string{"-c", begin, script}, modules...)...)
	if f, ok := errors.AsType[*failure](err); ok && f.status == missingModule {
		name := strings.TrimSpace(f.said)
		Missing(t, "Python's "+name, debian(name))
	}
	if err != nil {
		t.Fatalf("%s: %v", filepath.Base(path), err)
	}
	if err := json.Unmarshal(out, answer); err != nil {
		t.Fatalf("%s answers %q: %v", filepath.Base(path), out[:min(len(out), 200)], err)
	}
}

// begin looks whether the modules are there before it runs the script. Some libraries print on import or when they
// have something to say; only the answer may reach the standard output.
const begin = `
import importlib.util, os, runpy, sys
for module in sys.argv[2:]:
    if importlib.util.find_spec(module) is None:
        print(module, file=sys.stderr)
        sys.exit(77)
sys.argv = sys.argv[1:2]
answer = os.dup(1)
os.dup2(2, 1)
sys.stdout = os.fdopen(answer, "w")
runpy.run_path(sys.argv[0], run_name="__main__")
`

// Tool runs a program of a Debian package and returns what it prints.
func Tool(t testing.TB, debian, program string, args ...string) []byte {
	t.Helper()
	path, err := exec.LookPath(program)
	if err != nil {
		Missing(t, program, debian)
	}
	out, err := run(nil, path, args...)
	if err != nil {
		t.Fatalf("%s %v: %v", program, args, err)
	}
	return out
}

// Missing ends a test whose outside program is not there.
func Missing(t testing.TB, what, debian string) {
	t.Helper()
	word := t.Skipf
	if os.Getenv("CI") != "" {
		word = t.Fatalf
	}
	word("this check DID NOT RUN: %s is not installed. On Debian: apt-get install %s", what, debian)
}

// failure is a program that ended with a status other than 0.
type failure struct {
	status int
	said   string
}

// Error returns what the program said.
func (f *failure) Error() string { return f.said }

func run(in *strings.Reader, program string, args ...string) ([]byte, error) {
	cmd := exec.Command(program, args...)
	if in != nil {
		cmd.Stdin = in
	}
	var out, said bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &said
	err := cmd.Run()
	if e, ok := errors.AsType[*exec.ExitError](err); ok {
		return nil, &failure{e.ExitCode(), said.String()}
	}
	return out.Bytes(), err
}

// Slow ends a test that takes long, with a word on how to run it, except where CI is set.
func Slow(t testing.TB) {
	t.Helper()
	if os.Getenv("CI") == "" {
		t.Skip("this slow check by outside programs DID NOT RUN. To run it: CI=1 go test -run Outside ./...")
	}
}
