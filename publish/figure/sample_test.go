package figure

import (
	"image/color"
	"maps"
	"math"
	"strings"
	"testing"

	"lampassay/light/colorimetry"
	"lampassay/light/rendition"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// lamp is a published illuminant with everything a picture of it needs. The
// watts and lumens of the samples are invented.
type lamp struct {
	name       string
	nm, values []float64
	xyz        colorimetry.XYZ
	cct, duv   float64
	cri        rendition.CRI
	tm30       rendition.TM30
	ler        float64
}

func illuminant(t testing.TB, name string) lamp {
	t.Helper()
	il, err := standards.IlluminantByName(name)
	if err != nil {
		t.Fatal(err)
	}
	projected, err := il.Spectrum.Project(spectrum.Tabulated)
	if err != nil {
		t.Fatal(err)
	}
	l := lamp{name: il.Name, nm: il.Spectrum.Axis(), values: il.Spectrum.Values()}
	l.xyz = colorimetry.Tristimulus(standards.CIE1931(), projected)
	u, v := l.xyz.UV()
	l.cct, l.duv, _ = colorimetry.CCT(u, v)
	e := rendition.New()
	e.CRI(projected, l.cct, &l.cri)
	e.Fidelity(projected, l.cct, &l.tm30)
	l.ler = 683.002 * l.xyz.Y / projected.Total
	return l
}

func (l lamp) point() ChromaticityPoint {
	u, v := l.xyz.UVPrime()
	return ChromaticityPoint{Name: l.name, U: u, V: v, Colour: colorimetry.LightSwatch(l.xyz), CCT: l.cct, Duv: l.duv}
}

func (l lamp) vector() ColourVector {
	c := ColourVector{
		Rf: fixed(l.tm30.Rf, 0), Rg: fixed(l.tm30.Rg, 0),
		CCT: fixed(l.cct, 0) + " K", Duv: signed(l.duv, 4),
		Chroma: &l.tm30.RcsH,
	}
	for i := range c.Test {
		c.Test[i] = ABPoint(l.tm30.VectorTest[i])
		c.Reference[i] = ABPoint(l.tm30.VectorReference[i])
	}
	return c
}

// scaled returns the curve so that its area is k.
func (l lamp) scaled(k float64) []float64 {
	sum := 0.0
	for i := 1; i < len(l.nm); i++ {
		sum += (l.values[i] + l.values[i-1]) / 2 * (l.nm[i] - l.nm[i-1])
	}
	v := make([]float64, len(l.values))
	for i := range v {
		v[i] = l.values[i] * k / sum
	}
	return v
}

func (l lamp) strip() *Strip { return &Strip{Wavelengths: l.nm, Values: l.values} }

// swatches returns the test-colour samples of CIE 13.3 under the lamp and under
// a blackbody of its temperature, in D65 by a plain scaling of X, Y, Z.
func (l lamp) swatches() (pairs []SwatchPair, reference []color.NRGBA) {
	samples, o := standards.TCS(), standards.CIE1931()
	under := func(power func(nm float64) float64, r []float64) color.NRGBA {
		var c, white colorimetry.XYZ
		for k, rho := range r {
			nm := float64(samples.First + k*samples.Step)
			s := power(nm)
			x, y, z := s*o.X.At(nm), s*o.Y.At(nm), s*o.Z.At(nm)
			c = colorimetry.XYZ{X: c.X + rho*x, Y: c.Y + rho*y, Z: c.Z + rho*z}
			white = colorimetry.XYZ{X: white.X + x, Y: white.Y + y, Z: white.Z + z}
		}
		d := colorimetry.D65()
		return colorimetry.Swatch(colorimetry.XYZ{X: c.X / white.X * d.X, Y: c.Y / white.Y, Z: c.Z / white.Z * d.Z})
	}
	for i, r := range samples.R {
		p := SwatchPair{
			Name:      "R" + fixed(float64(i+1), 0) + " " + sampleNames[i],
			Value:     fixed(l.cri.R[i], 0),
			Lamp:      under(func(nm float64) float64 { return valueAt(l.nm, l.values, nm) }, r),
			Reference: under(func(nm float64) float64 { return standards.Planck(nm, l.cct) }, r),
		}
		pairs, reference = append(pairs, p), append(reference, p.Reference)
	}
	return pairs, reference
}

func must(t testing.TB) func(*Picture, error) *Picture {
	return func(p *Picture, err error) *Picture {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
}

// pictures is one picture of every kind, and the awkward ones.
func pictures(t testing.TB) map[string]*Picture {
	made := must(t)
	fl2, fl11, ledB3, hp1 := illuminant(t, "FL2"), illuminant(t, "FL11"), illuminant(t, "LED-B3"), illuminant(t, "HP1")
	ledV1, a := illuminant(t, "LED-V1"), illuminant(t, "A")
	pairs, under := fl2.swatches()
	_, underHP1 := hp1.swatches()
	mercury := []LineMark{{404.7, "Hg 404.7"}, {435.8, "Hg 435.8"}, {546.1, "Hg 546.1"}, {577, "Hg 577.0"}, {579.1, "Hg 579.1"}, {611.6, "Eu 611.6"}}

	lamps := []LampEfficacy{
		{Name: "LED-B3 bulb, 8 W", Efficacy: 104, Expanded: 5, LER: ledB3.ler, Strip: ledB3.strip()},
		{Name: "FL11 tube, 36 W", Efficacy: 83, Expanded: 4, LER: fl11.ler, Strip: fl11.strip()},
		{Name: "Halophosphate tube, FL2", Efficacy: 68, Expanded: 3.5, LER: fl2.ler, Strip: fl2.strip()},
		{Name: "High-pressure sodium, HP1", Efficacy: 118, Expanded: 6, LER: hp1.ler, Strip: hp1.strip()},
		{Name: "Incandescent, A", Efficacy: 12.1, Expanded: 0.6, Text: "12.1", LER: a.ler, Strip: a.strip()},
	}
	var panels []MultiplesPanel
	for _, l := range []lamp{fl2, fl11, ledB3, ledV1, hp1, a} {
		panels = append(panels, MultiplesPanel{l.name, l.nm, l.scaled(1e3 / l.ler)})
	}
	hue, some := fl2.tm30.RhsH, fl2.tm30.RcsH
	some[3], some[11] = math.NaN(), -1.5
	all := map[string]*Picture{
		"spectral-power":       made(SpectralPower{Wavelengths: fl11.nm, Values: fl11.scaled(9.4), Unit: "W/nm", Lines: mercury, Title: "Three narrow bands carry most of the light", Note: "CIE illuminant FL11, scaled to 9.4 W."}.Picture()),
		"spectral-power-ir":    made(SpectralPower{Wavelengths: hp1.nm, Values: hp1.values, From: 350, To: 850}.Picture()),
		"spectral-power-faint": made(SpectralPower{Wavelengths: fl2.nm, Values: fl2.scaled(3e-7), Unit: "W/(m²·nm)"}.Picture()),
		"spectral-power-dark":  made(SpectralPower{Wavelengths: []float64{390, 500, 700}, Values: []float64{0, 0, 0}, Unit: "W/nm"}.Picture()),
		"spectral-power-noise": made(SpectralPower{Wavelengths: []float64{390, 500, 600, 700}, Values: []float64{-2e6, 1e6, -3e6, 2.5e6}}.Picture()),
		"efficacies-long":      made(Efficacies{Lamps: []LampEfficacy{{Name: strings.Repeat("a lamp with a long name ", 6), Efficacy: 0.3, LER: 14}, {Name: "none", Efficacy: 0}}}.Picture()),
		"watts-four":           made(WhereWattsGo{Parts: []WattPart{{WattLight, "visible light", 0.001, ""}, {WattOther, "ultraviolet", 0.5, ""}, {WattGear, "loss in the ballast, as measured between mains and lamp", 7, ""}, {WattRest, "everything else", 28, ""}}}.Picture()),
		"local-chroma-some":    made(LocalChroma{Chroma: some}.Picture()),
		"limits-front": made(Limits{
			Quantity: "Ra", Note: "Computed: the best of all mixtures of ideal lines at 380–780 nm.",
			Curves: []LimitCurve{{X: []float64{50, 60, 70, 80, 85, 90, 92, 95}, Y: []float64{432, 425, 417, 406, 399, 391, 387, 378}}},
			Lamps:  []LimitLamp{{"FL11 tube", 82.8, fl11.ler}},
		}.Picture()),
		"limits-map": made(Limits{
			Quantity: "CCT", Unit: "K",
			Curves: []LimitCurve{
				{"Ra 80", []float64{2700, 3500, 4500, 5500, 6500}, []float64{430, 416.5, 394.7, 375.7, 360.8}},
				{"Ra 90", []float64{2700, 3500, 4500, 5500, 6500}, []float64{411, 400.5, 380.7, 362.8, 348.8}},
				{"Ra 92", []float64{2700, 3500, 4500, 5500, 6500}, []float64{405.8, 396, 376.8, 359.2, 345.3}},
			},
		}.Picture()),
		"chromaticity":       made(Chromaticity{Points: []ChromaticityPoint{fl2.point()}}.Picture()),
		"chromaticity-two":   made(Chromaticity{Points: []ChromaticityPoint{hp1.point(), ledB3.point()}}.Picture()),
		"chromaticity-green": made(Chromaticity{Points: []ChromaticityPoint{{Name: "green LED", U: 0.08, V: 0.57, Colour: rgb(0x30ff60)}}}.Picture()),
		"colour-vector":      made(fl2.vector().Picture()),
		"colour-vector-hp1":  made(hp1.vector().Picture()),
		"rendering":          made(RenderingIndices{General: fl2.cri.Ra, Special: fl2.cri.R[:], Swatches: under}.Picture()),
		"rendering-hp1":      made(RenderingIndices{General: hp1.cri.Ra, Special: hp1.cri.R[:], Swatches: underHP1}.Picture()),
		"local-chroma":       made(LocalChroma{Chroma: fl2.tm30.RcsH, Hue: &hue}.Picture()),
		"swatches":           made(Swatches{Pairs: pairs}.Picture()),
		"watts":              made(WhereWattsGo{Parts: []WattPart{{WattLight, "visible light, 380–780 nm", 2.31, "2.31"}, {WattOther, "other radiation that the spectrum covers", 0.12, "0.12"}, {WattRest, "heat and what the spectrum does not cover", 5.57, "5.57"}}}.Picture()),
		"efficacies":         made(Efficacies{Lamps: lamps, Note: "Intervals: k = 2."}.Picture()),
		"multiples":          made(Multiples{Lamps: panels, Normalisation: "mW/nm per lumen"}.Picture()),
		"strip":              made(fl11.strip().Picture()),
	}
	maps.Copy(all, emissionPictures(t))
	maps.Copy(all, ladderPictures(t))
	maps.Copy(all, verdictPictures(t))
	maps.Copy(all, uncertaintyPictures(t))
	maps.Copy(all, polarPictures(t))
	maps.Copy(all, calibrationPictures(t))
	maps.Copy(all, runUpPictures(t))
	return all
}

func TestSampleVectorsLieOnTheUnitCircleUnderTheReference(t *testing.T) {
	for i, r := range illuminant(t, "FL2").vector().Reference {
		if d := math.Hypot(r.A, r.B); math.Abs(d-1) > 1e-12 {
			t.Errorf("bin %d: reference at radius %g", i+1, d)
		}
	}
}
