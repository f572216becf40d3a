package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"time"

	"lampassay/bench/live"
	"lampassay/bench/notebook"
	"lampassay/bench/notebook/sqlite"
)

// checkTargets looks at where readings are to go.
func (o *recordOptions) checkTargets() error {
	switch {
	case o.notebook == "" && (o.lamp != 0 || o.sitting != 0):
		return badInput("--lamp and --sitting are numbers of a notebook: name it with --notebook")
	case o.notebook != "" && (o.lamp == 0) == (o.sitting == 0):
		return badInput("--notebook %s: say with --lamp whose new sitting it is, or with --sitting which old one", o.notebook)
	case o.notebook == "" && o.csv == "" && !o.json:
		return badInput("nothing would be kept: say where with --notebook, --csv or both, or use --json")
	}
	return nil
}

// targets are where readings go: a notebook, a table, or neither, and the log. The
// notebook decides what is kept; the table is then a copy.
type targets struct {
	notebook *sqlite.Store
	sitting  live.Sink
	rule     rule // by which the lamp is judged
	table    *live.Table
	file     *os.File // of the table
	log      *os.File
	n        int64 // readings, where nothing numbers them
	failed   error // of the copy
}

// open opens what the options name. Where one of them cannot be had no file is left
// behind.
func (t *targets) open(ctx context.Context, s streams, o *recordOptions) (err error) {
	var made []string
	defer func() {
		if err != nil {
			for _, name := range made {
				os.Remove(name)
			}
		}
	}()
	fresh := func(name string) (*os.File, error) {
		if name == "" {
			return nil, nil
		}
		f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
		if errors.Is(err, os.ErrExist) {
			return nil, badInput("%s is there already: name a new file", name)
		}
		if err == nil {
			made = append(made, name)
		}
		return f, err
	}
	if o.sitting == 0 {
		if t.rule, err = o.rule.of(nil); err != nil {
			return err
		}
	}
	if t.log, err = fresh(o.log); err != nil {
		return err
	}
	if t.file, err = fresh(o.csv); err != nil {
		return err
	}
	if t.file != nil {
		if t.table, err = live.NewTable(t.file); err != nil {
			return err
		}
	}
	if o.notebook == "" {
		return nil
	}
	if t.notebook, err = sqlite.Open(ctx, o.notebook); err != nil {
		return err
	}
	sitting, lamp := o.sitting, o.lamp
	if o.lamp != 0 {
		begun := notebook.Sitting{Lamp: o.lamp, Title: o.title, Started: time.Now()}
		if t.rule.by == ruleAsked {
			begun.Rule = live.KeptRule(t.rule.Criterion, t.rule.from)
		}
		kept, err := t.notebook.Sittings().Add(ctx, begun)
		if err != nil {
			return err
		}
		sitting = kept.ID
		fmt.Fprintf(s.err, "lampassay: readings go into the new sitting %d of lamp %d\n", sitting, o.lamp)
	} else {
		kept, err := t.notebook.Sittings().Get(ctx, sitting)
		if err != nil {
			return err
		}
		if t.rule, err = o.rule.of(kept); err != nil {
			return err
		}
		lamp = kept.Lamp
	}
	if err := writeCautions(ctx, s.err, t.notebook, lamp); err != nil {
		return err
	}
	t.sitting = live.Into(t.notebook, sitting)
	return nil
}

// Append keeps readings.
func (t *targets) Append(ctx context.Context, all []notebook.Reading) (last int64, err error) {
	switch {
	case t.sitting == nil && t.table != nil:
		return t.table.Append(ctx, all)
	case t.sitting == nil:
		t.n += int64(len(all))
		return t.n, nil
	}
	if last, err = t.sitting.Append(ctx, all); err == nil && t.table != nil && t.failed == nil {
		_, t.failed = t.table.Append(ctx, all)
	}
	return last, err
}

func (t *targets) close() error {
	err := t.failed
	if t.notebook != nil {
		err = errors.Join(err, t.notebook.Close())
	}
	for _, f := range []*os.File{t.file, t.log} {
		if f != nil {
			err = errors.Join(err, f.Close())
		}
	}
	return err
}
