package cli

import (
	"context"
	"fmt"
	"path/filepath"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/bench/ingest"
	"lampassay/light/spectrum"
)

// oneLampOnly refuses what is for one lamp where a file holds several.
func (o *assayOptions) oneLampOnly(what string) error {
	if o.sheet != "" || o.figures != "" {
		return badInput("%s, and --sheet and --figures are for one lamp", what)
	}
	if option := o.sure.own(); option != "" {
		return badInput("%s, and %s is for one lamp", what, option)
	}
	return nil
}

// assaySeries prints a JSON object a line for each time of a series.
func assaySeries(ctx context.Context, s streams, o *assayOptions, series *ingest.Series, given assay.Given, ids []quantity.ID) error {
	if err := o.oneLampOnly(fmt.Sprintf("%s holds %d spectra", series.Name, len(series.Values))); err != nil {
		return err
	}
	if ids == nil {
		ids = assay.Default()
	}
	projector, err := spectrum.NewProjector(series.Axis, series.Projection)
	if err != nil {
		return badInput("%s: %w", series.Name, err)
	}
	for _, line := range series.Report.Sentences() {
		fmt.Fprintf(s.err, "lampassay: %s\n", line)
	}
	evaluator, recorder := assay.NewEvaluator(), assay.NewRecorder(ids)
	evaluator.Only(ids)
	in := assay.Input{
		File: filepath.Base(series.Name), SHA256: series.SHA256, Samples: len(series.Axis), FromNm: series.Axis[0], ToNm: series.Axis[len(series.Axis)-1],
		Quantity: series.Quantity.String(), Projection: series.Projection.String(),
	}
	var projected spectrum.Projected
	var result assay.Result
	var line []byte
	for i, values := range series.Values {
		if err := ctx.Err(); err != nil {
			return err
		}
		projector.Project(&projected, values)
		projected.Quantity = series.Quantity
		evaluator.Evaluate(&projected, &given, &result)
		in.Name = fmt.Sprintf("%g s", series.Times[i])
		line = recorder.Append(line[:0], &in, &result, series.Report.Warnings)
		if _, err := s.out.Write(line); err != nil {
			return err
		}
	}
	return nil
}

// assayArchive assays a zip archive file by file, and says in the end how many
// could not be read.
func assayArchive(ctx context.Context, s streams, o *assayOptions, in *input, bare, given assay.Given, ids []quantity.ID, read ingest.Options) error {
	if err := o.oneLampOnly(in.name + " is an archive"); err != nil {
		return err
	}
	all, failed := 0, 0
	for file, err := range ingest.Archive(ctx, in.name, in.f, in.size, read) {
		all++
		if err == nil {
			if all > 1 && !o.json {
				fmt.Fprintln(s.out)
			}
			err = assayFileWhole(ctx, s, o, file, nil, bare, given, ids)
		}
		if err != nil {
			if exitCode(err) != exitInput {
				return err
			}
			failed++
			fmt.Fprintf(s.err, "lampassay: %v\n", err)
		}
	}
	if failed > 0 {
		return badInput("%d of %d files of %s could not be read: see above; the others are done", failed, all, in.name)
	}
	return nil
}
