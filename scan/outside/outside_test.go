package outside

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

// watched is a test whose end is noted instead of being one.
type watched struct {
	testing.TB
	skipped, failed string
}

func (w *watched) Helper()                   {}
func (w *watched) Skip(v ...any)             { w.skipped = fmt.Sprint(v...); runtime.Goexit() }
func (w *watched) Fatal(v ...any)            { w.failed = fmt.Sprint(v...); runtime.Goexit() }
func (w *watched) Skipf(s string, v ...any)  { w.skipped = fmt.Sprintf(s, v...); runtime.Goexit() }
func (w *watched) Fatalf(s string, v ...any) { w.failed = fmt.Sprintf(s, v...); runtime.Goexit() }

// watch runs a check to its end.
func watch(check func(t testing.TB)) (w watched) {
	done := make(chan bool)
	go func() {
		defer close(done)
		check(&w)
	}()
	<-done
	return w
}

// A check whose program, module or time is missing says so and how to run it; where CI is set it fails.
func TestMissing(t *testing.T) {
	script := filepath.Join(t.TempDir(), "never.py")
	if err := os.WriteFile(script, []byte("1/0\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for want, check := range map[string]func(t testing.TB){
		"apt-get install python3-nosuchmodule": func(t testing.TB) { Script(t, script, 1, new(int), "json", "nosuchmodule") },
		"apt-get install nosuchpackage":        func(t testing.TB) { Tool(t, "nosuchpackage", "no-such-program") },
		"CI=1 go test":                         Slow,
	} {
		if _, err := os.Stat(Python); err != nil && strings.Contains(want, "python3") {
			want = "apt-get install python3"
		}
		t.Setenv("CI", "")
		if w := watch(check); !strings.Contains(w.skipped, "DID NOT RUN") || !strings.Contains(w.skipped, want) || w.failed != "" {
			t.Errorf("without CI: skipped %q, failed %q, want %q", w.skipped, w.failed, want)
		}
		t.Setenv("CI", "1")
		if w := watch(check); w.skipped != "" || strings.HasPrefix(want, "apt-get") != strings.Contains(w.failed, want) {
			t.Errorf("with CI: skipped %q, failed %q, want %q", w.skipped, w.failed, want)
		}
	}
}

// A script's answer comes back whatever else is printed, and its failure is told.
func TestScript(t *testing.T) {
	if _, err := os.Stat(Python); err != nil {
		Missing(t, Python, "python3")
	}
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	double := write("double.py", "import json, os, sys\nos.write(1, b'a library talks\\n')\njson.dump(2 * json.load(sys.stdin), sys.stdout)\n")
	var answer float64
	Script(t, double, 10.5, &answer, "json")
	if answer != 21 {
		t.Errorf("twice 10.5 is %v", answer)
	}
	wrong := write("wrong.py", "raise ValueError('that is no wing')\n")
	if w := watch(func(t testing.TB) { Script(t, wrong, 1, &answer) }); !strings.Contains(w.failed, "that is no wing") {
		t.Errorf("a script that fails: skipped %q, failed %q", w.skipped, w.failed)
	}
	silent := write("silent.py", "pass\n")
	if w := watch(func(t testing.TB) { Script(t, silent, 1, &answer) }); !strings.Contains(w.failed, "answers") {
		t.Errorf("a script that says nothing: skipped %q, failed %q", w.skipped, w.failed)
	}
}
