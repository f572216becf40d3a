package cli

import (
	"context"
	"errors"
	"path/filepath"
	"slices"

	"github.com/spf13/pflag"

	"lampassay/bench/ingest"
	"lampassay/bench/instrument"
	"lampassay/light/calibration"
)

// rawOptions say what belongs to recordings of raw counts.
type rawOptions struct {
	darks    []string
	exposure optionalFloat
	read     readOptions
}

func (o *rawOptions) register(f *pflag.FlagSet) {
	f.StringSliceVar(&o.darks, "dark", nil, "the darks that belong to it, `FILES` of the same exposures")
	f.Var(&o.exposure, "exposure", "exposure time in `ms` of files that do not tell it")
}

// recorded is what files of raw counts hold of one light.
type recorded struct {
	frames []calibration.Frame
	input  *input // the first file
	report *ingest.Report
}

// measurement reads the frames of one light and the darks.
func (o *rawOptions) measurement(s streams, names []string) (m instrument.Measurement, first *recorded, err error) {
	read, err := o.read.options()
	if err != nil {
		return m, nil, err
	}
	if err := allPositive([]positive{{"exposure", o.exposure}}); err != nil {
		return m, nil, err
	}
	for _, list := range []struct {
		names []string
		to    *[]calibration.Frame
	}{{names, &m.Frames}, {o.darks, &m.Darks}} {
		for _, name := range list.names {
			r, err := readRaw(s, name, read)
			if err != nil {
				return m, nil, err
			}
			if first == nil {
				first = r
			} else if a, b := len(first.frames[0].Counts), len(r.frames[0].Counts); a != b {
				return m, nil, badInput("%s has %d pixels and %s has %d: they are not from one instrument", r.input.name, b, first.input.name, a)
			}
			for _, f := range r.frames {
				if f.ExposureMs == 0 {
					f.ExposureMs = o.exposure.v
				}
				*list.to = append(*list.to, f)
			}
		}
	}
	return m, first, o.read.keep(s, first.report, &read)
}

// untimed gives frames that do not tell their exposure one and the same, where
// none of them tells it and only the counts matter.
func untimed(m *instrument.Measurement) {
	for _, list := range [][]calibration.Frame{m.Frames, m.Darks} {
		for _, f := range list {
			if f.ExposureMs != 0 {
				return
			}
		}
	}
	for _, list := range [][]calibration.Frame{m.Frames, m.Darks} {
		for i := range list {
			list[i].ExposureMs = 1
		}
	}
}

// timed refuses frames without an exposure.
func timed(m *instrument.Measurement) error {
	for _, list := range [][]calibration.Frame{m.Frames, m.Darks} {
		for _, f := range list {
			if f.ExposureMs == 0 {
				return badInput("a file does not tell its exposure time in ms or s: give it with --exposure")
			}
		}
	}
	return nil
}

// readRaw reads a file of raw counts: one exposure, or one a column. Where it
// counts pixels its axis is the pixel and one more.
func readRaw(s streams, name string, read ingest.Options) (*recorded, error) {
	src, err := openSource(s, name)
	if err != nil {
		return nil, err
	}
	defer src.Close()
	in, err := src.read(read)
	if errors.Is(err, ingest.ErrPixels) {
		read.Axis = instrument.PixelsAsNm
		in, err = src.read(read)
	}
	if err != nil {
		return nil, err
	}
	if in.wide == nil {
		frame, err := instrument.FrameFromFile(in.file)
		if err != nil {
			return nil, spoken(err)
		}
		return &recorded{[]calibration.Frame{frame}, in, &in.file.Report}, nil
	}
	values, _, err := allColumns(in.wide)
	if err != nil {
		return nil, err
	}
	frames, err := instrument.FramesFromSpectra(in.wide, values)
	if err != nil {
		return nil, spoken(err)
	}
	return &recorded{frames, in, &in.wide.Report}, nil
}

// mostFrames is how many frames one file of raw counts may hold: they are held
// in memory.
const mostFrames = 10_000

// allColumns parses every column of a wide file, and returns their names.
func allColumns(w *ingest.Wide) (values [][]float64, names []string, err error) {
	if w.Columns() > mostFrames {
		return nil, nil, badInput("%s holds %d frames: %d are possible", w.Name, w.Columns(), mostFrames)
	}
	for b, err := range w.Blocks(context.Background(), 16) {
		if err != nil {
			return nil, nil, err
		}
		n := len(w.Axis)
		flat, errs := make([]float64, b.Columns()*n), make([]error, b.Columns())
		b.Parse(flat, errs)
		if err := errors.Join(errs...); err != nil {
			return nil, nil, err
		}
		for c := range b.Columns() {
			values = append(values, flat[c*n:(c+1)*n:(c+1)*n])
		}
		names = append(names, b.Names...)
	}
	return values, names, nil
}

// axis returns the wavelengths that a file of raw counts gives its pixels in
// the order of its rows; nil where it counts pixels.
func (r *recorded) axis() []float64 {
	if r.report.WavelengthUnit == "pixel" {
		return nil
	}
	var nm []float64
	if r.input.wide != nil {
		nm = slices.Clone(r.input.wide.Axis)
	} else {
		nm = slices.Clone(r.input.file.Spectrum.Axis())
	}
	if r.report.Reversed {
		slices.Reverse(nm)
	}
	return nm
}

// baseNames strips the folders.
func baseNames(files ...[]string) (all []string) {
	for _, list := range files {
		for _, f := range list {
			all = append(all, filepath.Base(f))
		}
	}
	return all
}
