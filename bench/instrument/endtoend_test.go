package instrument

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"lampassay/light/calibration"
	"lampassay/light/colorimetry"
	"lampassay/light/rendition"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// figures computes what a lamp tester reads off.
func figures(t *testing.T, s *spectrum.Spectrum) calibration.Figures {
	t.Helper()
	p, err := s.Project(spectrum.Sampled)
	if err != nil {
		t.Fatal(err)
	}
	xyz := colorimetry.Tristimulus(standards.CIE1931(), p)
	cct, duv, _ := colorimetry.CCT(xyz.UV())
	var cri rendition.CRI
	rendition.New().CRI(p, cct, &cri)
	return calibration.Figures{Flux: xyz.Y, CCT: cct, Duv: duv, Ra: cri.Ra}
}

func sampled(t *testing.T, f func(nm float64) float64, from, to float64) *spectrum.Spectrum {
	t.Helper()
	var axis, values []float64
	for nm := from; nm <= to; nm += 0.5 {
		axis, values = append(axis, nm), append(values, f(nm))
	}
	s, err := spectrum.New(spectrum.Relative, axis, values)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func day(s string) Day {
	d, err := time.Parse(time.DateOnly, s)
	if err != nil {
		panic(err)
	}
	return Day{d}
}

// calibrated calibrates the invented instrument from its own recordings alone.
func calibrated(t *testing.T, b *bad) *Instrument {
	t.Helper()
	in := &Instrument{Format: Format, Version: Version, Name: "bench spectrometer", Pixels: len(b.axis), FullScale: b.full, BlindBelowNm: 348}

	// Wavelength, from two line lamps.
	var recordings []calibration.Recording
	for _, name := range []string{"mercury-argon", "neon"} {
		lamp, err := calibration.LampByName(name)
		if err != nil {
			t.Fatal(err)
		}
		m := b.measure(b.scaled(lineLamp(name), 40, 0.8), 20, 40)
		counts, clipped := meanLight(t, b, m)
		recordings = append(recordings, calibration.Recording{Name: name + ".csv", Lamp: lamp, Counts: counts, Clipped: clipped})
	}
	w, err := calibration.CalibrateWavelength(recordings, calibration.Expected{})
	if err != nil {
		t.Fatal(err)
	}
	if !w.Confident {
		t.Fatalf("not confident: %v", w.Doubts)
	}
	in.Wavelength = &Dated[calibration.Wavelength]{Made: day("2026-03-01"), Days: WavelengthDays, Value: *w}

	// Stray light, from the filament lamp behind a long-pass filter.
	axis := w.Dispersion.Axis()
	counts, _ := meanLight(t, b, b.measure(b.scaled(behindLongPass(halogen(), 570), 100, 0.8), 40, 100))
	stray, u, err := calibration.StrayShare(axis, counts, 555)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("stray share %.3g ± %.1g, truth %.3g", stray.Share, u, b.stray/float64(len(b.axis)))
	in.Stray = &Dated[calibration.Stray]{Made: day("2026-03-01"), Days: StrayDays, Value: stray}

	// Second order, from mercury alone.
	mercury, err := calibration.LampByName("mercury")
	if err != nil {
		t.Fatal(err)
	}
	counts, clipped := meanLight(t, b, b.measure(b.scaled(lineLamp("mercury"), 40, 0.8), 60, 40))
	counts, err = stray.Correct(counts)
	if err != nil {
		t.Fatal(err)
	}
	ghosts := calibration.FindGhosts(axis, counts, clipped, mercury)
	for _, g := range ghosts {
		t.Logf("ghost of %.2f nm: %.4f ± %.4f, truth %.4f", g.Nm, g.Ratio, g.U, b.order)
	}
	order, err := calibration.NewSecondOrder(ghosts)
	if err != nil {
		t.Fatal(err)
	}
	in.SecondOrder = &Dated[calibration.SecondOrder]{Made: day("2026-03-01"), Value: order}

	// Response, from the filament lamp.
	ref, err := calibration.TungstenReference(2856, 20)
	if err != nil {
		t.Fatal(err)
	}
	made, err := in.CalibrateResponse(b.measure(b.scaled(halogen(), 100, 0.85), 60, 100), ref)
	if err != nil {
		t.Fatal(err)
	}
	in.Response = &Dated[calibration.Response]{Made: day("2026-03-01"), Days: ResponseDays, Value: made.Response}
	t.Logf("response known %.1f–%.1f nm", made.FromNm, made.ToNm)
	return in
}

// meanLight is the light of one exposure in counts per ms, and what is clipped.
func meanLight(t *testing.T, b *bad, m Measurement) (counts []float64, clipped []bool) {
	t.Helper()
	in := &Instrument{Name: "bench spectrometer", Pixels: len(b.axis), FullScale: b.full}
	counts, clipped, err := in.Counts(m)
	if err != nil {
		t.Fatal(err)
	}
	return counts, clipped
}

func TestABadInstrumentComesBackAfterCalibrationFromItsOwnRecordings(t *testing.T) {
	b := newBad()
	in := calibrated(t, b)

	worst := 0.0
	w := &in.Wavelength.Value
	for p, nm := range b.axis {
		if nm >= w.FromNm && nm <= w.ToNm {
			worst = math.Max(worst, math.Abs(w.Dispersion.At(float64(p))-nm))
		}
	}
	t.Logf("wavelength: off by at most %.3f nm in %.0f–%.0f nm (%s, %d lines)", worst, w.FromNm, w.ToNm, w.Law, len(w.Lines))
	if worst > 0.1 {
		t.Errorf("the axis is off by %.3f nm", worst)
	}

	compare := func(name string) {
		// The long exposure clips; the bracket repairs it.
		rate := b.scaled(light{continuum: phosphorLED}, 100, 1.5)
		c, err := in.Correct(b.measure(rate, 40, 100, 40), Options{})
		if err != nil {
			t.Fatal(err)
		}
		from, to := c.Spectrum.Range()
		truth, got := figures(t, sampled(t, phosphorLED, math.Ceil(from), math.Floor(to))), figures(t, c.Spectrum)
		mean, largest := shapeError(c.Spectrum, phosphorLED)
		t.Logf("%s: CCT %.1f against %.1f K, Duv %.5f against %.5f, Ra %.2f against %.2f; shape 420–700 nm off by %.2f %% on average by power, at most %.2f %% where above 5 %% of the peak",
			name, got.CCT, truth.CCT, got.Duv, truth.Duv, got.Ra, truth.Ra, 100*mean, 100*largest)
		if math.Abs(truth.CCT-3000) > 50 {
			t.Fatalf("the lamp has %.0f K and should have about 3000 K", truth.CCT)
		}
		if math.Abs(got.CCT-truth.CCT) > 20 || math.Abs(got.Duv-truth.Duv) > 0.0008 || math.Abs(got.Ra-truth.Ra) > 1 {
			t.Errorf("%s: got %+v, want %+v", name, got, truth)
		}
		if mean > 0.015 {
			t.Errorf("%s: the shape is off by %.2f %%", name, 100*mean)
		}
		if len(c.Lost) != 0 || len(c.Seams) != 1 {
			t.Errorf("%s: lost %v, seams %+v", name, c.Lost, c.Seams)
		}
	}
	compare("on the day of calibration")

	// Months later the detector has moved by 1.3 pixels. One lamp puts it right.
	moved := slices.Clone(b.axis)
	for p := range moved {
		moved[p] -= 1.3 * (b.edge(p+1) - b.edge(p))
	}
	b.axis = moved
	counts, clipped := meanLight(t, b, b.measure(b.scaled(lineLamp("neon"), 40, 0.8), 20, 40))
	shift, err := w.CheckShift("check.csv", counts, clipped)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(shift.Pixels-1.3) > 0.05 {
		t.Errorf("the shift is %.3f pixels, want 1.3", shift.Pixels)
	}
	in.Shift = &Dated[calibration.Shift]{Made: day("2026-09-01"), Days: ShiftDays, Value: shift}
	compare("after a shift and its check")
}

// shapeError compares a spectrum with the truth in 420–700 nm, both scaled to
// equal power there: the deviation's mean weighted by power, and the largest
// where there is light to speak of.
func shapeError(s *spectrum.Spectrum, truth func(nm float64) float64) (mean, largest float64) {
	var a, b float64
	axis, v := s.Axis(), s.Values()
	within := func(i int) bool { return axis[i] >= 420 && axis[i] <= 700 }
	top := 0.0
	for i := range axis {
		if within(i) {
			a += v[i]
			b += truth(axis[i])
			top = max(top, truth(axis[i]))
		}
	}
	for i := range axis {
		if within(i) {
			d := math.Abs(v[i]/a*b - truth(axis[i]))
			mean += d / b
			if truth(axis[i]) > 0.05*top {
				largest = max(largest, d/truth(axis[i]))
			}
		}
	}
	return mean, largest
}

func TestTheSameDataUncorrectedIsFlaggedWithTheRightCause(t *testing.T) {
	b := newBad()
	in := calibrated(t, b)
	raw := func(l light, exposure, share float64) *calibration.Evidence {
		m := b.measure(b.scaled(l, exposure, share), 4, exposure)
		counts, _ := meanLight(t, b, m)
		s, err := spectrum.New(spectrum.Counts, b.claimed, counts)
		if err != nil {
			t.Fatal(err)
		}
		return &calibration.Evidence{Axis: b.claimed, Frames: m.Frames, Dark: &m.Darks[0], FullScale: b.full, MainsHz: 50, BlindBelowNm: 348, Spectrum: s}
	}
	led := light{continuum: phosphorLED}
	noDark := raw(led, 100, 0.8)
	noDark.Dark = nil
	hidden := raw(led, 100, 1.5)
	hidden.Frames = nil // only the mean is left
	for _, c := range []struct {
		name     string
		evidence *calibration.Evidence
		gate     string
		severity calibration.Severity
	}{
		{"one exposure clips", raw(led, 100, 1.5), calibration.GateSaturation, calibration.Refusal},
		{"the clipped frames were averaged", hidden, calibration.GateHiddenSaturation, calibration.Refusal},
		{"no dark was taken", noDark, calibration.GateDark, calibration.Caution},
		{"one in a hundred counts is stray", raw(led, 100, 0.8), calibration.GateStray, calibration.Caution},
		{"mercury shows again at twice its wavelengths", raw(lineLamp("mercury"), 40, 0.8), calibration.GateSecondOrder, calibration.Caution},
		{"the response is still in", raw(led, 100, 0.8), calibration.GateResponse, calibration.Refusal},
		{"7 ms is no half period", raw(led, 7, 0.8), calibration.GateMains, calibration.Caution},
		{"a twentieth of full scale", raw(led, 100, 0.05), calibration.GateUnderexposure, calibration.Caution},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, f := range calibration.Inspect(c.evidence) {
				if f.Gate == c.gate && f.Severity >= c.severity {
					t.Log(f.Text)
					return
				}
			}
			t.Errorf("%s did not trip: %+v", c.gate, names(calibration.Inspect(c.evidence)))
		})
	}
	t.Run("offset and stretch", func(t *testing.T) {
		f := calibration.CheckAxis(b.claimed, &in.Wavelength.Value, nil)
		if len(f) != 1 || f[0].Gate != calibration.GateWavelength || math.Abs(f[0].Figure-5.2) > 0.15 {
			t.Errorf("got %+v", f)
		}
	})
}

func names(f []calibration.Finding) string {
	var all []string
	for _, x := range f {
		all = append(all, x.Gate+" ("+x.Severity.String()+"): "+x.Text)
	}
	return strings.Join(all, "\n")
}
