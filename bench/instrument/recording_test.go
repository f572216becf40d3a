package instrument

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"lampassay/bench/ingest"
	"lampassay/light/calibration"
	"lampassay/light/spectrum"
)

func readFile(t *testing.T, text string) *ingest.File {
	t.Helper()
	f, err := ingest.Read("raw.csv", strings.NewReader(text), ingest.Options{Axis: PixelsAsNm})
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// table is a raw file with a header and a row for each count.
func table(header string, counts []float64, axis func(row int) float64) string {
	var b strings.Builder
	b.WriteString(header + "\n")
	for i, c := range counts {
		fmt.Fprintf(&b, "%g,%g\n", axis(i), c)
	}
	return b.String()
}

var twelve = []float64{3, 1, 4, 1, 5, 9, 2, 6, 5, 3, 5, 8}

func TestCountsAreTakenInTheOrderOfTheRows(t *testing.T) {
	for name, axis := range map[string]func(int) float64{
		"pixels from 0":         func(i int) float64 { return float64(i) },
		"pixels from 1":         func(i int) float64 { return float64(i + 1) },
		"wavelengths that rise": func(i int) float64 { return 400 + 10.5*float64(i) },
		"wavelengths that fall": func(i int) float64 { return 800 - 10.5*float64(i) },
	} {
		heading := "nm,counts"
		if strings.HasPrefix(name, "pixels") {
			heading = "pixel,counts"
		}
		f, err := FrameFromFile(readFile(t, table(heading, twelve, axis)))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if !slices.Equal(f.Counts, twelve) {
			t.Errorf("%s: %v", name, f.Counts)
		}
	}
}

func TestTheExposureIsReadWithItsUnit(t *testing.T) {
	for header, want := range map[string]float64{
		"integration time: 80 ms":              80,
		"Integration time [ms]: 120,5":         120.5,
		"Integration_Time (us): 2500":          2.5,
		"exposure = 0.04 s":                    40,
		"Exposure time: 1.5e3 µs":              1.5,
		"exposure time: 250 milliseconds":      250,
		"Exposure: 2 seconds":                  2000,
		"integration time: 80":                 0, // of what?
		"integration time: unknown":            0,
		"time: 80 ms":                          0,
		"exposures: 4":                         0,
		"integration time: -3 kiloseconds-ish": 0,
	} {
		f, err := FrameFromFile(readFile(t, table("# "+header+"\npixel,counts", twelve, func(i int) float64 { return float64(i) })))
		if err != nil {
			t.Fatal(err)
		}
		if f.ExposureMs != want {
			t.Errorf("%s: %g ms, want %g", header, f.ExposureMs, want)
		}
	}
}

func TestWhatIsNoRawRecordingIsRefusedInASentence(t *testing.T) {
	pixel := func(i int) float64 { return float64(i) }
	for name, c := range map[string]struct{ text, want string }{
		"a unit of light":     {table("nm,W/m²/nm", twelve, func(i int) float64 { return 400 + float64(i) }), "holds irradiance, and an instrument's corrections are for raw counts"},
		"rows out of order":   {table("nm,counts", twelve, func(i int) float64 { return 400 + float64((7*i)%12) }), "not in the order of the detector's pixels"},
		"a row without count": {strings.Replace(table("pixel,counts", twelve, pixel), "4,5\n", "4,NaN\n", 1), "line 6: every pixel has to have a count"},
		"a pixel left out":    {strings.Replace(table("pixel,counts", twelve, pixel), "4,5\n", "", 1), "does not count every pixel: after 3 comes 5"},
	} {
		_, err := FrameFromFile(readFile(t, c.text))
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.HasPrefix(err.Error(), "instrument: ") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestColumnsAreFrames(t *testing.T) {
	var b strings.Builder
	b.WriteString("# integration time: 5 ms\npixel,first,second\n")
	for i, c := range twelve {
		fmt.Fprintf(&b, "%d,%g,%g\n", i, c, 10*c)
	}
	text := []byte(b.String())
	w, err := ingest.OpenWide("frames.csv", bytes.NewReader(text), int64(len(text)), ingest.Options{Axis: PixelsAsNm})
	if err != nil {
		t.Fatal(err)
	}
	values := make([][]float64, 0, 2)
	for block, err := range w.Blocks(t.Context(), 2) {
		if err != nil {
			t.Fatal(err)
		}
		flat := make([]float64, 2*len(w.Axis))
		block.Parse(flat, make([]error, 2))
		values = append(values, flat[:12], flat[12:])
	}
	frames, err := FramesFromSpectra(w, values)
	if err != nil {
		t.Fatal(err)
	}
	if len(frames) != 2 || frames[1].ExposureMs != 5 || frames[1].Counts[5] != 90 {
		t.Errorf("got %+v", frames)
	}
}

func TestPixelsOfAFileHaveTheInstrumentsWavelengths(t *testing.T) {
	in := plain()
	d, err := in.Dispersion()
	if err != nil {
		t.Fatal(err)
	}
	for _, backwards := range []bool{false, true} {
		in.Backwards = backwards
		axis, err := in.PixelAxis()
		if err != nil {
			t.Fatal(err)
		}
		want := d.At(5)
		if backwards {
			want = d.At(58)
		}
		if got, err := axis(5); err != nil || got != want {
			t.Errorf("backwards %v: %g, %v; want %g", backwards, got, err, want)
		}
		if _, err := axis(64); err == nil {
			t.Error("a 65th pixel has a wavelength")
		}
	}
}

func TestAFlatTopCountsAsClippedWhereFullScaleIsUnknown(t *testing.T) {
	in := plain()
	in.FullScale, in.Linearity = 0, nil
	m := plainMeasurement()
	for _, f := range m.Frames {
		for p, c := range f.Counts {
			f.Counts[p] = min(c, 1500)
		}
	}
	_, clipped, err := in.Counts(m)
	if err != nil {
		t.Fatal(err)
	}
	if !clipped[30] || clipped[5] {
		t.Errorf("clipped %v", clipped)
	}
	_, err = in.CalibrateResponse(m, mustTungsten(t))
	if err == nil || !strings.Contains(err.Error(), "has a flat top at 1500 counts") {
		t.Errorf("got %v", err)
	}
}

func mustTungsten(t *testing.T) calibration.Reference {
	t.Helper()
	ref, err := calibration.TungstenReference(2856, 20)
	if err != nil {
		t.Fatal(err)
	}
	return ref
}

// The range of a response depends on the stray light that is reckoned with: the
// best known gives the widest.
func TestAResponseReckonsWithTheStrayLightThatIsKnown(t *testing.T) {
	b := newBad()
	in := calibrated(t, b)
	m := b.measure(b.scaled(halogen(), 100, 0.85), 60, 100)
	width := func(want string) float64 {
		t.Helper()
		made, err := in.CalibrateResponse(m, mustTungsten(t))
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(made.StrayFrom, want) {
			t.Errorf("stray light from %q, want %q", made.StrayFrom, want)
		}
		t.Logf("%s: %.1f–%.1f nm", made.StrayFrom, made.FromNm, made.ToNm)
		return made.ToNm - made.FromNm
	}
	corrected := width("a tenth of what")
	in.Stray = nil
	pedestal := width("below 348 nm")
	in.BlindBelowNm = 0
	unknown := width("never measured")
	if !(corrected > pedestal && corrected > unknown) {
		t.Errorf("ranges of %.0f nm corrected, %.0f nm above a pedestal, %.0f nm unknown", corrected, pedestal, unknown)
	}
}

// An exposure is a time, whatever stands in the header.
func FuzzExposure(f *testing.F) {
	f.Add("integration time", "80 ms")
	f.Add("Integration time [µs]", "1e308")
	f.Add("exposure", "0,04 s")
	f.Add("integration s", "1e307")
	f.Fuzz(func(t *testing.T, key, value string) {
		ms := ExposureMs([]ingest.Pair{{Key: key, Value: value}})
		if !(ms >= 0) || math.IsInf(ms, 0) {
			t.Errorf("%q: %q is %g ms", key, value, ms)
		}
	})
}

func TestACurveInRisingWavelengthsGivesTheSameFrameAsItsFile(t *testing.T) {
	counts := []float64{900, 1200, 4000, 2500, 1000, 950, 930, 910, 905}
	falling := func(row int) float64 { return 700 - 10*float64(row) }
	f := readFile(t, table("nm,counts", counts, falling))
	want, err := FrameFromFile(f)
	if err != nil {
		t.Fatal(err)
	}
	in := plain()
	in.Backwards = true // as a file of falling wavelengths tells
	got, own, err := in.FrameFromCurve(spectrum.Counts, f.Spectrum.Axis(), f.Spectrum.Values(), 40)
	if err != nil || !slices.Equal(got.Counts, want.Counts) || got.ExposureMs != 40 || own[0] != 620 {
		t.Errorf("the frame is %v, not %v (%v)", got.Counts, want.Counts, err)
	}
	pixels := []float64{1, 2, 3, 4, 5, 6, 7, 8, 9} // rows of a file that counts pixels
	if got, own, err = in.FrameFromCurve(spectrum.Counts, pixels, counts, 40); err != nil || !slices.Equal(got.Counts, counts) || own != nil {
		t.Errorf("pixels that are counted were turned round: %v (%v)", got.Counts, err)
	}
	if _, _, err = in.FrameFromCurve(spectrum.Relative, pixels, counts, 40); err == nil {
		t.Error("a relative spectrum is taken for counts")
	}
	counts[3] = math.NaN()
	if _, _, err = in.FrameFromCurve(spectrum.Counts, pixels, counts, 40); err == nil || !strings.Contains(err.Error(), "at 4 nm there is none") {
		t.Errorf("a missing count is answered with %v", err)
	}
}

func TestWhatWasAppliedIsToldInSentences(t *testing.T) {
	in, m := plain(), plainMeasurement()
	a, err := in.Apply(m, Options{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	said := strings.Join(a.Sentences(), "\n")
	for _, want := range []string{"Correction, dark: its own subtracted from each of 1 exposure; peak", "Correction, bandwidth: not made (not asked for)."} {
		if !strings.Contains(said, want) {
			t.Errorf("%q is not said:\n%s", want, said)
		}
	}
	if warned := strings.Join(a.Warnings(day("2027-02-01")), "\n"); !strings.Contains(warned, "small one: the response calibration of 10\u00a0Jan\u00a02026 was to be trusted for 365 days") {
		t.Errorf("a response past its time is not told: %s", warned)
	}
	m.Frames[0].ExposureMs = 0
	if _, err := in.Apply(m, Options{}, nil); err == nil || !strings.Contains(err.Error(), "does not tell its exposure time") {
		t.Errorf("a frame without an exposure is answered with %v", err)
	}
}

func TestAllFramesOfAFileAreRead(t *testing.T) {
	one, err := ReadFrames(t.Context(), "one.csv", []byte("# integration time: 40 ms\n"+table("pixel,counts", twelve, func(row int) float64 { return float64(row) })))
	if err != nil || len(one) != 1 || !slices.Equal(one[0].Counts, twelve) || one[0].ExposureMs != 40 {
		t.Errorf("a file of pixels is read as %v (%v)", one, err)
	}
	var three strings.Builder
	three.WriteString("nm,first,second,third\n")
	for i, c := range twelve {
		fmt.Fprintf(&three, "%d,%g,%g,%g\n", 400+10*i, c, 2*c, 3*c)
	}
	all, err := ReadFrames(t.Context(), "three.csv", []byte(three.String()))
	if err != nil || len(all) != 3 || all[2].Counts[5] != 27 {
		t.Errorf("a file of three frames is read as %v (%v)", all, err)
	}
	if _, err := ReadFrames(t.Context(), "none.csv", []byte("nothing at all")); err == nil {
		t.Error("words are read as counts")
	}
}
