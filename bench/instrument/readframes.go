package instrument

import (
	"bytes"
	"context"
	"errors"
	"fmt"

	"lampassay/bench/ingest"
	"lampassay/light/calibration"
)

// mostFrames is how many frames one file of raw counts may hold: they are held in
// memory.
const mostFrames = 10_000

// ReadFrames reads the raw counts of a file: of one exposure, or a frame a column.
// Exposures are 0 where the file does not tell them. Files that count pixels and files
// that name wavelengths are read alike.
func ReadFrames(ctx context.Context, name string, raw []byte) ([]calibration.Frame, error) {
	frames, err := readFrames(ctx, name, raw, ingest.Options{})
	if errors.Is(err, ingest.ErrPixels) {
		frames, err = readFrames(ctx, name, raw, ingest.Options{Axis: PixelsAsNm})
	}
	return frames, err
}

func readFrames(ctx context.Context, name string, raw []byte, o ingest.Options) ([]calibration.Frame, error) {
	w, err := ingest.OpenWide(name, bytes.NewReader(raw), int64(len(raw)), o)
	if errors.Is(err, ingest.ErrSingle) {
		file, err := ingest.Read(name, bytes.NewReader(raw), o)
		if err != nil {
			return nil, err
		}
		frame, err := FrameFromFile(file)
		return []calibration.Frame{frame}, err
	}
	if err != nil {
		return nil, err
	}
	if w.Columns() > mostFrames {
		return nil, fmt.Errorf("instrument: %s holds %d frames: %d are possible", name, w.Columns(), mostFrames)
	}
	var columns [][]float64
	n := len(w.Axis)
	for b, err := range w.Blocks(ctx, 16) {
		if err != nil {
			return nil, err
		}
		flat, faults := make([]float64, b.Columns()*n), make([]error, b.Columns())
		b.Parse(flat, faults)
		if err := errors.Join(faults...); err != nil {
			return nil, err
		}
		for c := range b.Columns() {
			columns = append(columns, flat[c*n:(c+1)*n:(c+1)*n])
		}
	}
	return FramesFromSpectra(w, columns)
}
