package cli

import (
	"context"
	"errors"
	"io"
	"path/filepath"

	"lampassay/bench/ingest"
	"lampassay/bench/live"
	"lampassay/bench/notebook"
	"lampassay/bench/notebook/sqlite"
)

// sittingInto reads the readings of a sitting, and returns the sitting.
func sittingInto(ctx context.Context, args []string, sitting notebook.ID, rec *live.Record) (kept *notebook.Sitting, err error) {
	if len(args) != 1 {
		return nil, badInput("--sitting is of one notebook, not of %d files", len(args))
	}
	err = withNotebook(ctx, args[0], sqlite.OpenReadOnly, func(nb *sqlite.Store) error {
		var err error
		kept, err = nb.Sittings().Get(ctx, sitting)
		if err != nil {
			return err
		}
		for r, err := range nb.Readings(ctx, notebook.Readings{Sitting: sitting}) {
			if err != nil {
				return err
			}
			if kept.StruckOut(r.N) == "" {
				rec.Add(r)
			}
		}
		return nil
	})
	return kept, err
}

// filesInto reads tables and series.
func filesInto(s streams, args []string, o *runUpOptions, rec *live.Record) error {
	read, err := o.read.options()
	if err != nil {
		return err
	}
	for _, name := range args {
		if err := fileInto(s, name, o, &read, rec); err != nil {
			return err
		}
	}
	return nil
}

func fileInto(s streams, name string, o *runUpOptions, read *ingest.Options, rec *live.Record) error {
	src, err := openSource(s, name)
	if err != nil {
		return err
	}
	defer src.Close()
	if err := live.ReadTable(filepath.Base(src.name), src.f, rec); !errors.Is(err, live.ErrNoTable) {
		if err != nil {
			return spoken(err)
		}
		return o.read.keep(s, nil, read)
	}
	if _, err := src.f.Seek(0, io.SeekStart); err != nil {
		return err
	}
	series, err := ingest.ReadSeries(src.name, src.f, *read)
	if err != nil {
		return err
	}
	if err := o.read.keep(s, &series.Report, read); err != nil {
		return err
	}
	offset := 0.0
	switch {
	case series.Start.IsZero():
	case rec.Start.IsZero():
		rec.Start = series.Start
	default:
		offset = series.Start.Sub(rec.Start).Seconds()
	}
	for i, at := range series.Times {
		rec.AddAt(offset+at, &notebook.Reading{Channel: "spectra", Curve: &notebook.Curve{
			Quantity: series.Quantity.String(), Axis: series.Axis, Samples: series.Values[i],
		}})
	}
	return nil
}
