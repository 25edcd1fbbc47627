package main

import (
	"fmt"
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// The scripts run the program as a process of its own, which is this test binary under the program's name.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"tipwright": main})
}

// Each script in testdata/script uses the command line as a builder would. The scripts' own commands are in
// commands_test.go; [ci] tells whether CI is set, for what takes too long otherwise.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Condition: func(name string) (bool, error) {
			if name != "ci" {
				return false, fmt.Errorf("no condition is called %s", name)
			}
			return os.Getenv("CI") != "", nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"await":   await,
			"copydir": copydir,
			"field":   field,
			"kept":    kept,
			"listing": listing,
			"near":    near,
			"same":    same,
			"scan":    writeScan,
			"status":  status,
			"tidy":    tidy,
		},
	})
}
