package colorimetry

import (
	"math"
	"testing"

	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// near reports whether got is within tol of want; two NaNs are near.
func near(got, want, tol float64) bool {
	return math.Abs(got-want) <= tol || (math.IsNaN(got) && math.IsNaN(want))
}

// projected reads a published illuminant as its table.
func projected(t *testing.T, name string) *spectrum.Projected {
	t.Helper()
	il, err := standards.IlluminantByName(name)
	if err != nil {
		t.Fatal(err)
	}
	p, err := il.Spectrum.Project(spectrum.Tabulated)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestNothingThatIsCalledPerSpectrumAllocates(t *testing.T) {
	flat, err := spectrum.New(spectrum.Relative, []float64{360, 830}, []float64{1, 1})
	if err != nil {
		t.Fatal(err)
	}
	p, err := flat.Project(spectrum.Sampled)
	if err != nil {
		t.Fatal(err)
	}
	white := XYZ{95.05, 100, 108.88}
	cam := NewCAM02(white, 100, 20, Average)
	sample := XYZ{19.01, 20, 21.78}
	for name, f := range map[string]func(){
		"Tristimulus":  func() { Tristimulus(standards.CIE1931(), p) },
		"CCT":          func() { CCT(0.25, 0.34) },
		"UVFromCCT":    func() { UVFromCCT(3000, 0.002) },
		"PlanckianXYZ": func() { PlanckianXYZ(3000) },
		"Dominant":     func() { Dominant(0.5, 0.4, 1.0/3, 1.0/3) },
		"WithWhite":    func() { cam = cam.WithWhite(white) },
		"UCS":          func() { cam.UCS(sample) },
		"Appearance":   func() { cam.Appearance(sample) },
		"DeltaE2000":   func() { DeltaE2000(LabFromXYZ(sample, white), Lab{50, 1, 2}) },
		"Adapt":        func() { Adapt(sample, white, D65()) },
		"Swatch":       func() { Swatch(XYZ{0.2, 0.2, 0.1}) },
		"LightSwatch":  func() { LightSwatch(sample) },
	} {
		if n := testing.AllocsPerRun(20, f); n != 0 {
			t.Errorf("%s allocates %g times", name, n)
		}
	}
}

var sink float64

func BenchmarkCCT(b *testing.B) {
	CCT(0.25, 0.34) // the locus is made once
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		sink, _, _ = CCT(0.2+float64(i%64)*0.003, 0.33)
	}
}

func BenchmarkUCS(b *testing.B) {
	v := NewCAM02(XYZ{95.05, 100, 108.88}, 100, 20, Average)
	c := XYZ{57.06, 43.06, 31.96}
	b.ReportAllocs()
	for b.Loop() {
		sink, _, _ = v.UCS(c)
	}
}

func BenchmarkDominant(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		sink, _, _ = Dominant(0.4, 0.45, 1.0/3, 1.0/3)
	}
}

func BenchmarkDeltaE2000(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		sink = DeltaE2000(Lab{50, 2.6772, -79.7751}, Lab{50, 0, -82.7485})
	}
}
