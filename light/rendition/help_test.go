package rendition

import (
	"math"

	"lampassay/light/colorimetry"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// reporter is what tests, benchmarks and property checks have in common.
type reporter interface {
	Helper()
	Errorf(format string, args ...any)
	Fatal(args ...any)
}

// illuminant returns a published illuminant as its table, with its CCT.
func illuminant(t reporter, name string) (*spectrum.Projected, float64) {
	t.Helper()
	il, err := standards.IlluminantByName(name)
	if err != nil {
		t.Fatal(err)
	}
	return project(t, il.Spectrum, spectrum.Tabulated)
}

// project projects a spectrum and finds its CCT.
func project(t reporter, s *spectrum.Spectrum, kind spectrum.Projection) (*spectrum.Projected, float64) {
	t.Helper()
	p, err := s.Project(kind)
	if err != nil {
		t.Fatal(err)
	}
	cct, _, ok := colorimetry.CCT(colorimetry.Tristimulus(standards.CIE1931(), p).UV())
	if !ok {
		t.Fatal("no CCT")
	}
	return p, cct
}

func sampledFL2(t reporter) *spectrum.Projected {
	il, err := standards.IlluminantByName("FL2")
	if err != nil {
		t.Fatal(err)
	}
	p, _ := project(t, il.Spectrum, spectrum.Sampled)
	return p
}

// curve makes a spectrum of a function of wavelength.
func curve(t reporter, from, to, step float64, f func(nm float64) float64) *spectrum.Spectrum {
	t.Helper()
	var nm, v []float64
	for i := 0; from+float64(i)*step <= to; i++ {
		nm = append(nm, from+float64(i)*step)
		v = append(v, f(nm[i]))
	}
	s, err := spectrum.New(spectrum.Relative, nm, v)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// daylight is the CIE daylight of a temperature.
func daylight(kelvin float64) func(nm float64) float64 {
	d := standards.Daylight()
	m1, m2 := standards.DaylightWeightsAt(kelvin)
	return func(nm float64) float64 { return d.S0.At(nm) + m1*d.S1.At(nm) + m2*d.S2.At(nm) }
}

func blackbody(kelvin float64) func(nm float64) float64 {
	return func(nm float64) float64 { return standards.Planck(nm, kelvin) }
}

func near(t reporter, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s is %.6g, want %.6g ± %g", what, got, want, tolerance)
	}
}
