package cli

import (
	"bufio"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"lampassay/bench/ingest"
	"lampassay/light/calibration"
)

// weighSeries asks whether the lamp held still, and the gates on the curve of
// the last spectrum: the one that a lamp is judged by.
func weighSeries(series *ingest.Series) []weighed {
	e := &calibration.Evidence{Axis: series.Axis}
	for _, v := range series.Values {
		e.Frames = append(e.Frames, calibration.Frame{Counts: v})
	}
	last, err := series.Spectrum(len(series.Values) - 1)
	if err != nil {
		return nil // ingest has checked the values
	}
	findings := calibration.Drift(e)
	findings = append(findings, calibration.Inspect(&calibration.Evidence{Axis: series.Axis, Spectrum: last})...)
	return weigh(findings, last, series.Projection)
}

// inspectArchive looks at every file of an archive, and answers no where one of
// them is refused.
func inspectArchive(ctx context.Context, s streams, o *inspectOptions, in *input, read ingest.Options) error {
	if o.correct.instrument != "" || o.raw() {
		return badInput("%s is an archive: unpack it to look at raw counts", in.name)
	}
	if err := o.read.keep(s, in.report(), &read); err != nil {
		return err
	}
	w := bufio.NewWriter(s.out)
	all, failed, no := 0, 0, false
	for file, err := range ingest.Archive(ctx, in.name, in.f, in.size, read) {
		all++
		if err != nil {
			if exitCode(err) != exitInput {
				return errors.Join(err, w.Flush())
			}
			failed++
			fmt.Fprintf(s.err, "lampassay: %v\n", err)
			continue
		}
		evidence := &calibration.Evidence{Axis: file.Spectrum.Axis(), Spectrum: file.Spectrum, MainsHz: o.mains.v, BlindBelowNm: o.blindBelow.v, BandwidthNm: o.bandwidth.v}
		found := weigh(calibration.Inspect(evidence), file.Spectrum, file.Projection)
		no = no || refused(found)
		if o.json {
			err = json.NewEncoder(w).Encode(inspectRecord(file.Name, file.SHA256, &ingest.Preview{Report: file.Report}, found))
		} else {
			v := &view{w: w}
			if all > failed+1 {
				v.printf("\n")
			}
			v.printf("%s\n", file.Name)
			for _, text := range file.Report.Sentences() {
				v.wrapped("", text, "")
			}
			err = cmp.Or(v.err, findingsView(w, found))
		}
		if err != nil {
			return err
		}
	}
	if err := w.Flush(); err != nil {
		return err
	}
	switch {
	case failed > 0:
		return badInput("%d of %d files of %s could not be read: see above", failed, all, in.name)
	case no:
		return errNo
	}
	return nil
}

func refused(found []weighed) bool {
	return slices.ContainsFunc(found, func(f weighed) bool { return f.Severity == calibration.Refusal })
}
