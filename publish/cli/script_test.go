package cli

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"lampassay": func() { os.Exit(Main(context.Background(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) },
	})
}

// TestScripts runs the program as its users do. The scripts are the
// specification of the command line.
func TestScripts(t *testing.T) {
	const dir = "testdata/script"
	scripts, err := filepath.Glob(dir + "/*.txtar")
	if err != nil || len(scripts) == 0 {
		t.Fatalf("no scripts in %s: %v", dir, err)
	}
	testscript.Run(t, testscript.Params{
		Dir: dir,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits": exits,
			"mkbin": makeBinary,
			"mkzip": makeArchive, "mksheet": makeSheet,
		},
		UpdateScripts: os.Getenv("UPDATE") != "",
	})
}

// exits CODE PROGRAM ARGS... runs a program and checks its exit code.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE PROGRAM ARGS...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	got := 0
	var exit *exec.ExitError
	switch {
	case errors.As(err, &exit):
		got = exit.ExitCode()
	case err != nil:
		ts.Fatalf("%s: %v", args[1], err)
	}
	if got != want {
		ts.Fatalf("%s exited with %d, want %d", args[1], got, want)
	}
}

// makeBinary FILE HEX... writes bytes that a script cannot hold.
func makeBinary(ts *testscript.TestScript, _ bool, args []string) {
	var b []byte
	for _, h := range args[1:] {
		v, err := strconv.ParseUint(h, 16, 8)
		ts.Check(err)
		b = append(b, byte(v))
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), b, 0o644))
}
