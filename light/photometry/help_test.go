package photometry

import (
	"math"
	"testing"

	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

func illuminant(t testing.TB, name string, kind spectrum.Projection) *spectrum.Projected {
	t.Helper()
	il, err := standards.IlluminantByName(name)
	if err != nil {
		t.Fatal(err)
	}
	return project(t, il.Spectrum, kind)
}

// cut returns an illuminant's table between two wavelengths.
func cut(t testing.TB, name string, from, to float64) *spectrum.Projected {
	t.Helper()
	il, err := standards.IlluminantByName(name)
	if err != nil {
		t.Fatal(err)
	}
	var nm, v []float64
	for i, l := range il.Spectrum.Axis() {
		if l >= from && l <= to {
			nm, v = append(nm, l), append(v, il.Spectrum.Values()[i])
		}
	}
	return project(t, spectrumOf(t, spectrum.Relative, nm, v), spectrum.Tabulated)
}

// curve makes a spectrum of a function of wavelength, sampled evenly with both
// ends in.
func curve(t testing.TB, from, to, step float64, f func(nm float64) float64) *spectrum.Projected {
	t.Helper()
	n := int(math.Round((to - from) / step))
	nm, v := make([]float64, n+1), make([]float64, n+1)
	for i := range nm {
		nm[i] = from + (to-from)*float64(i)/float64(n)
		v[i] = f(nm[i])
	}
	return project(t, spectrumOf(t, spectrum.Irradiance, nm, v), spectrum.Sampled)
}

func spectrumOf(t testing.TB, q spectrum.Quantity, nm, v []float64) *spectrum.Spectrum {
	t.Helper()
	s, err := spectrum.New(q, nm, v)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func project(t testing.TB, s *spectrum.Spectrum, kind spectrum.Projection) *spectrum.Projected {
	t.Helper()
	p, err := s.Project(kind)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// scaled returns a projection with all its integrals multiplied.
func scaled(p *spectrum.Projected, k float64) *spectrum.Projected {
	q := *p
	for i := range q.B {
		q.B[i] *= k
	}
	q.Total *= k
	q.Moment *= k
	q.Micromol *= k
	return &q
}

func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s is %.7g, want %.7g ± %.2g", what, got, want, tolerance)
	}
}
