package instrument

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"lampassay/bench/ingest"
	"lampassay/light/calibration"
	"lampassay/light/spectrum"
)

// FrameFromFile takes the raw counts out of a file of one exposure, in the order
// of its rows: whatever wavelengths the file gives them, the first row is the
// first pixel. The exposure is 0 where the file does not tell it.
//
// Raw counts cannot be had from a file whose rows were sorted, merged or left
// out, nor from one that says its values are in a unit of light.
func FrameFromFile(f *ingest.File) (calibration.Frame, error) {
	if err := isRaw(f.Name, &f.Report, f.Spectrum.Quantity(), f.Spectrum.Axis()); err != nil {
		return calibration.Frame{}, err
	}
	counts := slices.Clone(f.Spectrum.Values())
	if f.Report.Reversed {
		slices.Reverse(counts)
	}
	return calibration.Frame{Counts: counts, ExposureMs: ExposureMs(f.Report.Metadata)}, nil
}

// FramesFromSpectra is [FrameFromFile] for a file with a column for each frame:
// values are its parsed columns, one a frame, on the file's axis.
func FramesFromSpectra(w *ingest.Wide, values [][]float64) ([]calibration.Frame, error) {
	if err := isRaw(w.Name, &w.Report, w.Quantity, w.Axis); err != nil {
		return nil, err
	}
	exposure := ExposureMs(w.Report.Metadata)
	var frames []calibration.Frame
	for _, v := range values {
		counts := slices.Clone(v)
		if w.Report.Reversed {
			slices.Reverse(counts)
		}
		frames = append(frames, calibration.Frame{Counts: counts, ExposureMs: exposure})
	}
	return frames, nil
}

// FrameFromCurve takes the raw counts out of a curve in rising wavelengths, as a
// notebook keeps one. Of a detector that is read backwards the last sample is the first
// pixel, unless the curve counts pixels, as [PixelsAsNm] does. own are the wavelengths
// that the curve gives the pixels, nil where it counts them.
func (in *Instrument) FrameFromCurve(q spectrum.Quantity, nm, counts []float64, exposureMs float64) (frame calibration.Frame, own []float64, err error) {
	if q != spectrum.Counts {
		return frame, nil, fmt.Errorf("instrument: this is %s, and an instrument's corrections are for raw counts", q)
	}
	for i, v := range counts {
		if math.IsNaN(v) {
			return frame, nil, fmt.Errorf("instrument: every pixel has to have a count, and at %g nm there is none", nm[i])
		}
	}
	frame = calibration.Frame{Counts: slices.Clone(counts), ExposureMs: exposureMs}
	for i, x := range nm {
		if x != float64(i+1) {
			own = nm
			break
		}
	}
	if in.Backwards && own != nil {
		slices.Reverse(frame.Counts)
	}
	return frame, own, nil
}

// isRaw refuses what cannot be the counts of a detector's pixels in their order.
func isRaw(name string, r *ingest.Report, q spectrum.Quantity, axis []float64) error {
	switch {
	case q.Absolute():
		return fmt.Errorf("instrument: %s holds %s, and an instrument's corrections are for raw counts: export the counts, or read the file without the instrument", name, q)
	case r.Photons:
		return fmt.Errorf("instrument: %s holds photons, and an instrument's corrections are for raw counts", name)
	case r.Sorted || r.Merged > 0:
		return fmt.Errorf("instrument: the rows of %s are not in the order of the detector's pixels: export the raw counts anew", name)
	case len(r.Skipped) > 0:
		return fmt.Errorf("instrument: %s, line %d: every pixel has to have a count, and here %s", name, r.Skipped[0].Line, r.Skipped[0].Reason)
	}
	if r.WavelengthUnit == "pixel" {
		for i, x := range axis {
			if x != axis[0]+float64(i) {
				return fmt.Errorf("instrument: %s does not count every pixel: after %g comes %g", name, axis[i-1]-1, x-1)
			}
		}
	}
	return nil
}

// PixelAxis returns the wavelengths of the instrument's pixels as its files count
// them.
func (in *Instrument) PixelAxis() (ingest.PixelAxis, error) {
	d, err := in.Dispersion()
	if err != nil {
		return nil, err
	}
	last := float64(in.Pixels - 1)
	return func(pixel float64) (float64, error) {
		if pixel < 0 || pixel > last {
			return 0, fmt.Errorf("%s has the pixels 0 to %.0f", in.Name, last)
		}
		if in.Backwards {
			pixel = last - pixel
		}
		return d.At(pixel), nil
	}, nil
}

// PixelsAsNm lets a file that counts pixels be read without a calibration: the
// axis is one more than the pixel, since a wavelength is above zero.
func PixelsAsNm(pixel float64) (float64, error) { return pixel + 1, nil }

var (
	exposureKey  = regexp.MustCompile(`(?i)\b(integration|exposure)([ _-]?time)?\b`)
	exposureUnit = regexp.MustCompile(`(?i)(?:^|[^a-zµμ])(milliseconds?|msec|ms|microseconds?|µs|μs|us|seconds?|sec|s)(?:$|[^a-z])`)
	firstNumber  = regexp.MustCompile(`\d+(?:[.,]\d+)?(?:[eE][+-]?\d+)?`)
)

// ExposureMs finds the exposure in a file's header; 0 where it is not there, or
// is there without a unit.
func ExposureMs(metadata []ingest.Pair) float64 {
	for _, pair := range metadata {
		if !exposureKey.MatchString(pair.Key) {
			continue
		}
		v, err := strconv.ParseFloat(strings.Replace(firstNumber.FindString(pair.Value), ",", ".", 1), 64)
		if err != nil {
			continue
		}
		unit := exposureUnit.FindStringSubmatch(firstNumber.ReplaceAllString(pair.Value, " "))
		if unit == nil {
			unit = exposureUnit.FindStringSubmatch(exposureKey.ReplaceAllString(pair.Key, " "))
		}
		if unit == nil {
			continue
		}
		switch u := strings.ToLower(unit[1]); {
		case strings.HasPrefix(u, "mil"), strings.HasPrefix(u, "ms"):
		case strings.HasPrefix(u, "s"):
			v *= 1000
		default:
			v /= 1000
		}
		if v > 0 && v < longestExposureMs {
			return v
		}
	}
	return 0
}

// longestExposureMs is an hour: what is longer is a slip.
const longestExposureMs = 3.6e6
