package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"lampassay/bench/ingest"
)

// Exit codes.
const (
	exitDone    = 0
	exitNo      = 1
	exitInput   = 2
	exitMachine = 3
)

// streams are where a command reads and writes.
type streams struct {
	in       io.Reader
	out, err io.Writer
}

// errNo is the answer no: everything worked, and a check did not hold.
var errNo = errors.New("the answer is no")

// inputError is a fault of what the user gave.
type inputError struct{ err error }

func (e inputError) Error() string { return e.err.Error() }
func (e inputError) Unwrap() error { return e.err }

// badInput makes an inputError.
func badInput(format string, args ...any) error { return inputError{fmt.Errorf(format, args...)} }

// Main runs the program and returns its exit code.
func Main(ctx context.Context, args []string, in io.Reader, out, errw io.Writer) int {
	s := streams{in, out, errw}
	root := newRoot(s)
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	code := exitCode(err)
	switch {
	case err == nil, errors.Is(err, errNo):
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(errw, "lampassay: stopped")
	default:
		for said := range strings.SplitSeq(err.Error(), "\n") {
			fmt.Fprintf(errw, "lampassay: %s\n", without(said, carriers))
		}
	}
	return code
}

// exitCode maps an error to an exit code: the one place that does.
func exitCode(err error) int {
	var problem *ingest.Problem
	var input inputError
	var path *fs.PathError
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errNo):
		return exitNo
	case errors.Is(err, context.Canceled), errors.Is(err, syscall.EPIPE), errors.Is(err, syscall.ENOSPC):
		return exitMachine
	case errors.As(err, &input), errors.As(err, &problem), notebookFault(err):
		return exitInput
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EISDIR):
		return exitInput
	case errors.As(err, &path):
		return exitMachine
	}
	return exitMachine
}

func newRoot(s streams) *cobra.Command {
	root := &cobra.Command{
		Use:   "lampassay",
		Short: "What a lamp gives, from the readings of a small bench",
		Long: `Lampassay turns the readings of a small bench (a spectrum file, watts, lumens)
into every photometric and colorimetric figure of the lamp, each with its source
and, where a figure means nothing for this lamp, the reason.

Try it without an instrument:

  lampassay standard FL11 > fl11.csv
  lampassay assay fl11.csv --flux 3350 --power 36
  lampassay demo --out demo`,
		SilenceUsage:      true,
		SilenceErrors:     true,
		Version:           version(),
		CompletionOptions: cobra.CompletionOptions{HiddenDefaultCmd: false},
	}
	root.SetOut(s.out)
	root.SetErr(s.err)
	root.SetIn(s.in)
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return badInput("%v: see %q", err, c.CommandPath()+" --help")
	})
	root.SetVersionTemplate("lampassay {{.Version}}\n")
	root.AddCommand(newAssay(s), newSitting(s), newEmission(s), newFlux(s), newInspect(s), newCompare(s), newClaims(s), newRules(s), newLadder(s), newLimit(s), newCost(s), newRelight(s), newCalibrate(s), newStandard(s), newQuantities(s), newSelfcheck(s), newNotebook(s), newOpen(s), newRecord(s), newRunUp(s), newSimulate(s), newDemo(s), newExitCodes())
	root.RunE = func(c *cobra.Command, args []string) error {
		if len(args) > 0 {
			return badInput("there is no command %q: see \"lampassay --help\"", args[0])
		}
		return c.Help()
	}
	root.Args = cobra.ArbitraryArgs
	return root
}

// newExitCodes is a help topic: a command that only has a text.
func newExitCodes() *cobra.Command {
	return &cobra.Command{
		Use:   "exit-codes",
		Short: "What the exit codes mean",
		Long: `0  done
1  the answer is no: a check of selfcheck failed, a gate of inspect refuses
   the file, a claim is outside its tolerance, no light meets the conditions
   of limit, or a lamp is not stable
2  the input is wrong: a file, a value or an option
3  the machine failed: a disk or a pipe, or the run was interrupted`,
	}
}

// version is the module version the binary was built from.
func version() string {
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" && info.Main.Version != "(devel)" {
		return info.Main.Version
	}
	return "development build"
}

// exactly is cobra.ExactArgs with our own sentence.
func exactly(n int, what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) != n {
			return badInput("%s takes %s: see %q", c.CommandPath(), what, c.CommandPath()+" --help")
		}
		return nil
	}
}

// atMostOne is for commands that take one argument or none.
func atMostOne(what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) > 1 {
			return badInput("%s takes one %s at most: see %q", c.CommandPath(), what, c.CommandPath()+" --help")
		}
		return nil
	}
}

// createFile makes a file that appears whole or not at all: write goes to a
// temporary file beside it, which is renamed at the end.
func createFile(name string, write func(io.Writer) error) (err error) {
	if info, err := os.Stat(name); err == nil && info.IsDir() {
		return badInput("%s is a folder: name a file", name)
	}
	f, err := os.CreateTemp(filepath.Dir(name), ".lampassay-*")
	var path *fs.PathError
	if errors.As(err, &path) {
		path.Path = name // the temporary name would say nothing to anybody
	}
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
		}
	}()
	if err = write(f); err != nil {
		return err
	}
	if err = f.Chmod(0o644); err != nil {
		return err
	}
	if err = f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), name)
}
