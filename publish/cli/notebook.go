package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"lampassay/bench/notebook"
	"lampassay/bench/notebook/archive"
	"lampassay/bench/notebook/sqlite"
)

func newNotebook(s streams) *cobra.Command {
	c := &cobra.Command{
		Use:   "notebook",
		Short: "What is kept: lamps, sittings, readings and assays in one file",
		Long: `A notebook is one file that keeps lamps, instruments, sittings with their
readings, assays, comparisons and publications. Readings are never changed, every
other change can be undone, and nothing is deleted: it goes to the trash.

One process at a time writes in a notebook; list, log, verify, backup and export
also work while another does.`,
		Example: `  lampassay notebook create bench.notebook
  lampassay notebook add bench.notebook "Kitchen tube" --technology fluorescent
  lampassay notebook list bench.notebook
  lampassay notebook backup bench.notebook /media/stick/bench.notebook`,
		Args: cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) > 0 {
				return badInput("notebook has no command %q: see \"lampassay notebook --help\"", args[0])
			}
			return c.Help()
		},
	}
	c.AddCommand(newNotebookCreate(s), newNotebookAdd(s), newNotebookList(s), newNotebookLog(s), newNotebookUndo(s),
		newNotebookVerify(s), newNotebookBackup(s), newNotebookExport(s), newNotebookImport(s))
	return c
}

// notebookFault reports whether an error of a notebook is the fault of what was
// given, and not of the machine.
func notebookFault(err error) bool {
	code := notebook.CodeOf(err)
	return code != notebook.Internal && code != notebook.Full
}

// withNotebook opens a notebook for as long as do runs.
func withNotebook(ctx context.Context, name string, open func(context.Context, string) (*sqlite.Store, error), do func(*sqlite.Store) error) error {
	if info, err := os.Stat(name); err == nil && info.IsDir() {
		return badInput("%s is a folder: name the file of a notebook", name)
	}
	nb, err := open(ctx, name)
	if err != nil {
		return err
	}
	return errors.Join(do(nb), nb.Close())
}

func newNotebookCreate(s streams) *cobra.Command {
	return &cobra.Command{
		Use:   "create NOTEBOOK",
		Short: "Make an empty notebook in a new file",
		Args:  exactly(1, "the name of a new file"),
		RunE: func(c *cobra.Command, args []string) error {
			return withNotebook(c.Context(), args[0], sqlite.Create, func(*sqlite.Store) error {
				_, err := fmt.Fprintf(s.out, "Made %s, an empty notebook.\n", args[0])
				return err
			})
		},
	}
}

func newNotebookAdd(s streams) *cobra.Command {
	var l notebook.Lamp
	c := &cobra.Command{
		Use:     "add NOTEBOOK NAME",
		Short:   "Add a lamp",
		Example: `  lampassay notebook add bench.notebook "Street lamp" --technology "low-pressure sodium" --base BY22d`,
		Args:    exactly(2, "a notebook and the lamp's name"),
		RunE: func(c *cobra.Command, args []string) error {
			l.Name = args[1]
			return withNotebook(c.Context(), args[0], sqlite.Open, func(nb *sqlite.Store) error {
				kept, err := nb.Lamps().Add(c.Context(), l)
				if err != nil {
					return err
				}
				_, err = fmt.Fprintf(s.out, "Added lamp %d, %s. \"lampassay notebook undo %s %d\" takes it back.\n", kept.ID, kept.Name, args[0], kept.Revision)
				return err
			})
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&l.Technology, "technology", "", "what makes the light, such as `fluorescent`")
	f.StringVar(&l.Maker, "maker", "", "`who` made it")
	f.StringVar(&l.Model, "model", "", "the maker's `name` for it")
	f.StringVar(&l.Piece, "piece", "", "`which` one of several, such as a serial number")
	f.StringVar(&l.Base, "base", "", "its `cap`, such as E27")
	f.StringVar(&l.Gear, "gear", "", "the `ballast` or driver it is run with")
	f.StringVar(&l.Notes, "notes", "", "anything `else`")
	return c
}

func newNotebookUndo(s streams) *cobra.Command {
	return &cobra.Command{
		Use:   "undo NOTEBOOK CHANGE",
		Short: "Take back a change, by its number in the log",
		Args:  exactly(2, "a notebook and the number of a change"),
		RunE: func(c *cobra.Command, args []string) error {
			n, err := parseID(args[1])
			if err != nil {
				return err
			}
			return withNotebook(c.Context(), args[0], sqlite.Open, func(nb *sqlite.Store) error {
				did, err := nb.Undo(c.Context(), n)
				if err != nil {
					return err
				}
				_, err = fmt.Fprintf(s.out, "Took back change %d: %s was %s. That is change %d, and can be undone as well.\n", n, did.Ref, changeText(did.Action), did.Seq)
				return err
			})
		},
	}
}

func newNotebookVerify(s streams) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "verify NOTEBOOK",
		Short: "Read everything and say what does not hold",
		Long: `Reads the whole notebook: the file itself, every checksum, the numbering of the
readings, what records refer to, and every record against its journal. The exit
code is 1 where anything does not hold.`,
		Args: exactly(1, "a notebook"),
		RunE: func(c *cobra.Command, args []string) error {
			return withNotebook(c.Context(), args[0], sqlite.OpenReadOnly, func(nb *sqlite.Store) error {
				found, err := nb.Verify(c.Context())
				if err != nil {
					return err
				}
				if asJSON {
					err = json.NewEncoder(s.out).Encode(struct {
						Holds    bool     `json:"holds"`
						Records  int64    `json:"records"`
						Readings int64    `json:"readings"`
						Files    int64    `json:"files"`
						Faults   []string `json:"faults"`
					}{len(found.Faults) == 0, found.Records, found.Readings, found.Files, append([]string{}, found.Faults...)})
				} else {
					err = verdictView(s.out, found)
				}
				if err == nil && len(found.Faults) > 0 {
					err = errNo
				}
				return err
			})
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON object")
	return c
}

func verdictView(w io.Writer, found *notebook.Verdict) error {
	v := &view{w: w}
	for _, f := range found.Faults {
		v.wrapped("  ! ", f, "")
	}
	v.printf("%d records, %d readings and %d files were read. ", found.Records, found.Readings, found.Files)
	switch n := len(found.Faults); n {
	case 0:
		v.printf("Everything holds.\n")
	case 1:
		v.printf("One thing does not hold: go back to a backup.\n")
	default:
		v.printf("%d things do not hold: go back to a backup.\n", n)
	}
	return v.err
}

func newNotebookBackup(s streams) *cobra.Command {
	return &cobra.Command{
		Use:   "backup NOTEBOOK COPY",
		Short: "Copy a notebook as it is now, also while it is being written",
		Args:  exactly(2, "a notebook and the name of a new file"),
		RunE: func(c *cobra.Command, args []string) error {
			return withNotebook(c.Context(), args[0], sqlite.OpenReadOnly, func(nb *sqlite.Store) error {
				if err := nb.Backup(c.Context(), args[1]); err != nil {
					return err
				}
				_, err := fmt.Fprintf(s.out, "Copied %s to %s. \"lampassay notebook verify\" reads a copy like any notebook.\n", args[0], args[1])
				return err
			})
		},
	}
}

func newNotebookExport(s streams) *cobra.Command {
	return &cobra.Command{
		Use:   "export NOTEBOOK ARCHIVE",
		Short: "Write everything as a zip of CSV, JSON and the files that were attached",
		Long: `Writes everything in a notebook as an open archive that needs no program of ours
to be read: docs/format/notebook.md describes it. The same notebook gives the same
bytes.`,
		Args: exactly(2, "a notebook and the name of a new archive"),
		RunE: func(c *cobra.Command, args []string) error {
			if _, err := os.Lstat(args[1]); err == nil {
				return badInput("%s is there already: choose another name", args[1])
			}
			return withNotebook(c.Context(), args[0], sqlite.OpenReadOnly, func(nb *sqlite.Store) error {
				if err := createFile(args[1], func(w io.Writer) error { return nb.Export(c.Context(), w) }); err != nil {
					return err
				}
				_, err := fmt.Fprintf(s.out, "Wrote %s.\n", args[1])
				return err
			})
		},
	}
}

func newNotebookImport(s streams) *cobra.Command {
	var most int64
	c := &cobra.Command{
		Use:   "import ARCHIVE NOTEBOOK",
		Short: "Make a notebook from an archive, and verify it",
		Args:  exactly(2, "an archive and the name of a new notebook"),
		RunE: func(c *cobra.Command, args []string) error {
			if most < 1 {
				return badInput("--most is %d GiB: a number from 1 up belongs there", most)
			}
			f, err := os.Open(args[0])
			if err != nil {
				return err
			}
			defer f.Close()
			info, err := f.Stat()
			if err != nil {
				return err
			}
			found, err := sqlite.Import(c.Context(), args[1], f, info.Size(), archive.Limits{Bytes: most << 30})
			if err != nil {
				return err
			}
			_, err = fmt.Fprintf(s.out, "Made %s with %d records, %d readings and %d files. Everything holds.\n", args[1], found.Records, found.Readings, found.Files)
			return err
		},
	}
	c.Flags().Int64Var(&most, "most", archive.DefaultLimits.Bytes>>30, "refuse what unfolds to more than so many `GiB`")
	return c
}
