package spectrum_test

import (
	"encoding/binary"
	"errors"
	"math"
	"testing"

	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

var nan, inf = math.NaN(), math.Inf(1)

func TestACurveThatCannotBeReadIsRefusedAtTheSampleAtFault(t *testing.T) {
	for _, c := range []struct {
		name  string
		x, y  []float64
		index int // of the sample at fault, −1 where it is no one sample's
		text  string
	}{
		{"nothing", nil, nil, -1, "spectrum: 0 samples: a curve needs at least two"},
		{"one sample", []float64{555}, []float64{1}, -1, "spectrum: 1 samples: a curve needs at least two"},
		{"lengths differ", []float64{500, 501}, []float64{1}, -1, "spectrum: 2 wavelengths but 1 values"},
		{"descending", []float64{500, 499}, []float64{1, 1}, 1, "spectrum: sample 2 at 499 nm: the wavelength does not increase"},
		{"repeated", []float64{500, 501, 501}, []float64{1, 1, 2}, 2, "spectrum: sample 3 at 501 nm: the wavelength does not increase"},
		{"zero", []float64{0, 1}, []float64{1, 1}, 0, "spectrum: sample 1 at 0 nm: the wavelength is not a positive number"},
		{"negative", []float64{-5, 1}, []float64{1, 1}, 0, "spectrum: sample 1 at -5 nm: the wavelength is not a positive number"},
		{"NaN wavelength", []float64{500, nan}, []float64{1, 1}, 1, "spectrum: sample 2 at NaN nm: the wavelength is not a positive number"},
		{"infinite wavelength", []float64{500, inf}, []float64{1, 1}, 1, "spectrum: sample 2 at +Inf nm: the wavelength is not a positive number"},
		{"NaN value", []float64{500, 501}, []float64{nan, 1}, 0, "spectrum: sample 1 at 500 nm: the value is not a finite number"},
		{"infinite value", []float64{500, 501}, []float64{1, -inf}, 1, "spectrum: sample 2 at 501 nm: the value is not a finite number"},
	} {
		_, err := spectrum.New(spectrum.Relative, c.x, c.y)
		if err == nil || err.Error() != c.text {
			t.Errorf("%s: error %v, want %s", c.name, err, c.text)
			continue
		}
		var at *spectrum.SampleError
		if errors.As(err, &at) != (c.index >= 0) || (at != nil && at.Index != c.index) {
			t.Errorf("%s: sample error %+v, want index %d", c.name, at, c.index)
		}
	}
}

func TestAnAxisThatCannotBeProjectedIsRefused(t *testing.T) {
	for _, c := range []struct {
		name string
		axis []float64
		kind spectrum.Projection
	}{
		{"in metres", []float64{380e-9, 780e-9}, spectrum.Sampled},
		{"in micrometres", []float64{0.38, 0.78}, spectrum.Sampled},
		{"in ångströms", []float64{3800, 7800}, spectrum.Sampled},
		{"a table at half a nanometre", []float64{500, 500.5, 501}, spectrum.Tabulated},
		{"a table off the whole nanometres", []float64{500.1, 501.1, 502.1}, spectrum.Tabulated},
		{"a table with a gap", []float64{500, 505, 515}, spectrum.Tabulated},
		{"descending", []float64{501, 500}, spectrum.Sampled},
	} {
		if _, err := spectrum.NewProjector(c.axis, c.kind); err == nil {
			t.Errorf("%s: accepted", c.name)
		}
	}
}

func TestASpectrumKeepsWhatItWasGiven(t *testing.T) {
	x, y := []float64{500.25, 501, 503.5}, []float64{1, -2, 3}
	s, err := spectrum.New(spectrum.Irradiance, x, y)
	if err != nil {
		t.Fatal(err)
	}
	x[0], y[0] = 1, 99 // the caller's slices are the caller's
	if s.Axis()[0] != 500.25 || s.Values()[0] != 1 || s.Values()[1] != -2 || s.Len() != 3 {
		t.Errorf("the spectrum changed with the caller's slices: %v %v", s.Axis(), s.Values())
	}
	if from, to := s.Range(); from != 500.25 || to != 503.5 {
		t.Errorf("range %g–%g", from, to)
	}
	twice, err := s.Scale(2, spectrum.Flux)
	if err != nil || twice.Values()[1] != -4 || twice.Quantity() != spectrum.Flux || s.Values()[1] != -2 {
		t.Errorf("scaled: %v %v %v", twice, err, s.Values())
	}
	if _, err := s.Scale(inf, spectrum.Flux); err == nil {
		t.Error("an infinite scale was accepted")
	}
	p, err := s.Project(spectrum.Sampled)
	if err != nil || p.Quantity != spectrum.Irradiance {
		t.Errorf("projected quantity %v, error %v", p.Quantity, err)
	}
}

func TestQuantitiesAreSpelledOneWay(t *testing.T) {
	for q := spectrum.Relative; q <= spectrum.Intensity; q++ {
		back, err := spectrum.ParseQuantity(q.String())
		if err != nil || back != q {
			t.Errorf("%v reads back as %v, %v", q, back, err)
		}
		if q.Absolute() != (q.Unit() != "1") {
			t.Errorf("%v has unit %s and is absolute: %v", q, q.Unit(), q.Absolute())
		}
	}
	if _, err := spectrum.ParseQuantity("Flux "); err == nil {
		t.Error("a name spelled otherwise was accepted")
	}
	if q := spectrum.Quantity(200); q.Absolute() || q.Unit() != "" || q.String() != "Quantity(200)" {
		t.Errorf("an unknown quantity: %v %q", q, q.Unit())
	}
}

func TestPhotonsAndEnergyAreOneCurve(t *testing.T) {
	// One mole of 555 nm photons carries 0.215 54 MJ: N_A·h·c/λ.
	near(t, "µmol/J at 555 nm", spectrum.MicromolPerJoule(555), 1/0.21554, 5e-5, 4.64)
	x, y := []float64{400, 555, 700}, []float64{1, 2, 3}
	photons := make([]float64, 3)
	for i := range y {
		photons[i] = y[i] * spectrum.MicromolPerJoule(x[i])
	}
	spectrum.EnergyFromPhotons(x, photons)
	for i := range y {
		near(t, "there and back", photons[i], y[i], 1e-15, y[i])
	}
}

func TestAWeightingIsStraightBetweenItsEntriesAndZeroOutside(t *testing.T) {
	w := spectrum.Weighting{Name: "w", First: 500, W: []float64{1, 3, 2}}
	for _, c := range []struct{ l, want float64 }{
		{499.9, 0}, {500, 1}, {500.25, 1.5}, {501, 3}, {501.5, 2.5}, {502, 2}, {502.1, 0}, {nan, 0}, {-inf, 0}, {inf, 0},
	} {
		if got := w.At(c.l); got != c.want {
			t.Errorf("at %g nm: %g, want %g", c.l, got, c.want)
		}
	}
	for _, c := range []struct{ a, b, want float64 }{
		{400, 600, 4.5}, {500, 501, 2}, {500.5, 501.5, 2.625}, {501, 501, 0}, {502, 501, 0}, {502, 600, 0},
	} {
		if got := w.Integral(c.a, c.b); math.Abs(got-c.want) > 1e-14 {
			t.Errorf("integral %g–%g nm: %g, want %g", c.a, c.b, got, c.want)
		}
	}
	for _, c := range []struct{ from, to, want float64 }{
		{300, 800, 0}, {500, 502, 0}, {501, 502, 2 / 4.5}, {503, 600, 1},
	} {
		if got := w.Missing(c.from, c.to); math.Abs(got-c.want) > 1e-14 {
			t.Errorf("missing from %g–%g nm: %g, want %g", c.from, c.to, got, c.want)
		}
	}
}

func TestACurveCutShortSaysWhatItMisses(t *testing.T) {
	// Σ ȳ from 360 nm to 399 nm is 0.006 of 106.857: little of V(λ) lies there.
	v := standards.V()
	below := 0.0
	for l := 360.0; l < 400; l++ {
		below += (v.At(l) + v.At(l+1)) / 2
	}
	all := v.Integral(360, 830)
	near(t, "V(λ) below 400 nm", v.Missing(400, 830), below/all, 1e-12, 1)
	near(t, "V(λ) of a curve in the infrared", v.Missing(900, 1000), 1, 0, 0)
}

func TestDotIsTheSumOfProducts(t *testing.T) {
	for n := range 10 {
		a, b := make([]float64, n), make([]float64, n+3)
		want := 0.0
		for i := range a {
			a[i], b[i] = float64(i+1), float64(10*i-7) // whole numbers: no rounding
			want += a[i] * b[i]
		}
		for i := n; i < len(b); i++ {
			b[i] = nan // beyond a: not read
		}
		if got := spectrum.Dot(a, b); got != want {
			t.Errorf("length %d: %g, want %g", n, got, want)
		}
	}
}

// FuzzProject feeds any floats to every entrance: an error or an answer, no
// panic.
func FuzzProject(f *testing.F) {
	seed := func(v ...float64) []byte {
		var b []byte
		for _, x := range v {
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(x))
		}
		return b
	}
	f.Add(seed(500, 1, 501, 2, 502, 1))
	f.Add(seed(300, 1, 1e300, 2))
	f.Add(seed(5e-324, 1, 200, -1, 1400, 1e308, math.MaxFloat64, 1e308))
	f.Add(seed(380, nan, 385, inf, 390, -inf))
	f.Add(seed(500, 1, math.Nextafter(500, 501), 5e-324))
	f.Add(seed(1, 1, 1201, 2, 2401, 3))
	f.Fuzz(func(t *testing.T, data []byte) {
		n := len(data) / 16
		x, y := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i] = math.Float64frombits(binary.LittleEndian.Uint64(data[16*i:]))
			y[i] = math.Float64frombits(binary.LittleEndian.Uint64(data[16*i+8:]))
		}
		spectrum.Guess(x)
		_, newErr := spectrum.New(spectrum.Counts, x, y)
		for _, kind := range []spectrum.Projection{spectrum.Sampled, spectrum.Tabulated} {
			pr, err := spectrum.NewProjector(x, kind)
			if err != nil {
				continue
			}
			var p spectrum.Projected
			pr.Project(&p, y)
			v := standards.V()
			v.Of(&p)
			p.Centroid()
			p.FWHM()
			if missing := v.Missing(p.Extent()); !(missing >= -1e-9 && missing <= 1+1e-9) {
				t.Errorf("missing %g of V(λ)", missing)
			}
			if newErr == nil && kind == spectrum.Sampled && x[0] <= 555 && x[n-1] >= 556 {
				if p.B[555-spectrum.GridFirst] == 0 && !p.Zero && inside(x, y, 554, 556) {
					t.Error("a curve that covers 555 nm left nothing there")
				}
			}
		}
	})
}

// inside reports whether the curve is clearly positive throughout a to b.
func inside(x, y []float64, a, b float64) bool {
	for i := range x {
		if i > 0 && x[i] >= a && x[i-1] <= b && !(y[i] > 1e-100 && y[i-1] > 1e-100) {
			return false
		}
	}
	return true
}
