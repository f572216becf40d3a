package ingest

import (
	"errors"
	"math"
	"strings"
	"testing"

	"lampassay/light/calibration"
)

// dispersion is an invented instrument of 40 pixels.
var dispersion = calibration.Dispersion{Model: calibration.Polynomial, Pixels: 40, Coefficients: []float64{550, 150, -5}}

func onDetector(pixel float64) (float64, error) {
	if pixel < 0 || pixel > 39 {
		return 0, errors.New("the detector has pixels 0 to 39")
	}
	return dispersion.At(pixel), nil
}

func TestPixelsTakeTheCalibrationsWavelengths(t *testing.T) {
	backwards := func(p float64) (float64, error) { return onDetector(39 - p) }
	ones := strings.Replace(pixels(40), "0,0.5\n", "", 1) + "40,0.5\n"
	for _, c := range []struct {
		name, text string
		axis       PixelAxis
		first      float64 // pixel of the shortest wavelength
		n          int
		warning    string
	}{
		{"a bare count", pixels(40), onDetector, 0, 40, ""},
		{"a bare count from 1", ones, onDetector, 0, 40, "counts pixels from 1"},
		{"a heading, and a few pixels", "Pixel;counts\n5;1,5\n6;2,5\n7,5;3,5\n", onDetector, 5, 3, ""},
		{"a detector read backwards", pixels(40), backwards, 0, 40, ""},
		{"JSON", `{"pixel": [3, 4, 5], "counts": [1, 2, 3]}`, onDetector, 3, 3, ""},
		{"wavelengths all the same", "400,1.0\n500,2\n", onDetector, math.NaN(), 2, "the file has wavelengths of its own: the calibration is not used"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := Read("x", strings.NewReader(c.text), Options{Axis: c.axis})
			if err != nil {
				t.Fatal(err)
			}
			from, _ := f.Spectrum.Range()
			want := dispersion.At(c.first)
			if math.IsNaN(c.first) {
				want = 400
			}
			if from != want || f.Spectrum.Len() != c.n {
				t.Errorf("%d samples from %g nm; want %d from %g", f.Spectrum.Len(), from, c.n, want)
			}
			if got := strings.Join(f.Report.Warnings, "\n"); (got == "") != (c.warning == "") || !strings.Contains(got, c.warning) {
				t.Errorf("warnings %q", got)
			}
		})
	}
}

func TestABatchOfPixelsIsRead(t *testing.T) {
	text := "pixel,red,blue\n0,1.0,2\n1,3,4\n2,5,6\n"
	w, err := OpenWide("x", strings.NewReader(text), int64(len(text)), Options{Axis: onDetector})
	if err != nil || w.Axis[2] != dispersion.At(2) {
		t.Error(w, err)
	}
}

func TestPixelsWithoutAWavelengthAreOneSentence(t *testing.T) {
	broken := func(float64) (float64, error) { return math.NaN(), nil }
	for _, c := range []struct {
		name, text string
		axis       PixelAxis
		want       string
	}{
		{"no calibration", "pixel,counts\n5,1.0\n6,2\n", nil, "x: found a first column of pixels, 5 to 6; attach the instrument's wavelength calibration, or save the file with wavelengths in nm"},
		{"beyond the detector", "pixel,counts\n39,1.0\n40,2\n", onDetector, "x, line 3: found the pixel 40; the calibration has no wavelength for it: the detector has pixels 0 to 39"},
		{"a broken calibration", "pixel,counts\n1,1.0\n2,2\n", broken, "x, line 2: found the pixel 1; the calibration has no wavelength for it: its wavelength comes to NaN nm"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Read("x", strings.NewReader(c.text), Options{Axis: c.axis})
			if err == nil || err.Error() != c.want {
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
		})
	}
}
