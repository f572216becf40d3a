package sheet

import (
	"bytes"
	"errors"
	"math"
	"testing"

	"lampassay/assay"
	"lampassay/assay/conformity"
	"lampassay/assay/quantity"
	"lampassay/assay/uncertainty"
	"lampassay/bench/ingest"
	"lampassay/bench/tidewater"
	"lampassay/light/emission"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// specimen names a light that the tests make a lamp of. Spectra are the CIE's
// illuminants; fluxes, powers and declared values are invented.
type specimen struct {
	name, note  string
	illuminant  string       // a table of the CIE; or else
	lines       [][2]float64 // invented lines, nm and height; or else
	curve       [2][]float64 // wavelengths in nm and values
	flux, watts float64
	atLamp      float64
	declared    []Declared
	unsure      bool // uncertainties were left out
}

var specimens = []specimen{
	{name: "Phosphor LED, 4000 K class", illuminant: "LED-B3", flux: 806, watts: 8.5,
		note:     "A bulb of the kind sold everywhere, from the desk lamp in the workshop.",
		declared: []Declared{{quantity.LuminousFlux, 810}, {quantity.Power, 8.5}, {quantity.CCT, 4000}, {quantity.Ra, 80}}},
	{name: "Triphosphor tube", illuminant: "FL11", flux: 3350, watts: 41, atLamp: 36},
	{name: "High-pressure sodium, yard lantern", illuminant: "HP1", flux: 6600, watts: 83, atLamp: 70},
	{name: "Low-pressure sodium", lines: sodium, flux: 4500, watts: 46, atLamp: 35,
		note:     "Two lines, 589.0 and 589.6 nm, drawn as Gaussians 0.5 nm wide.",
		declared: []Declared{{quantity.LuminousFlux, 4550}, {quantity.CCT, 1800}}},
	{name: "Tungsten filament", illuminant: "A", flux: 710, watts: 60},
	{name: "Tube without figures", illuminant: "FL2", unsure: true},
	{name: "Green line", lines: [][2]float64{{532, 1}}, note: "One line at 532 nm: no colour temperature, and nothing that needs one."},
}

// lampOf assays a specimen.
func lampOf(t *testing.T, s specimen) Lamp {
	t.Helper()
	spec, kind := s.spectrum(t)
	projected, err := spec.Project(kind)
	if err != nil {
		t.Fatal(err)
	}
	given := assay.Given{Source: conformity.LightSource{Mains: true}}
	known := func(v float64) assay.Optional { return assay.Optional{Value: v, Known: v > 0} }
	given.Flux, given.Power, given.PowerLamp = known(s.flux), known(s.watts), known(s.atLamp)
	result := new(assay.Result)
	assay.NewEvaluator().Evaluate(projected, &given, result)
	makes, err := emission.Analyse(spec, emission.Options{})
	if err != nil && !errors.Is(err, emission.ErrTooFew) && !errors.Is(err, emission.ErrScale) {
		t.Fatal(err)
	}
	if !s.unsure {
		result.Uncertainty = uncertaintyOf(t, spec, kind, given)
	}
	from, to := spec.Range()
	return Lamp{
		Name: s.name, Note: s.note, Result: result, Spectrum: spec, Emission: makes, Declared: s.declared,
		Input: assay.Input{File: "specimen.csv", SHA256: "2c26b46b68ffc68ff99b453c1d30413413422d706483bfa0f98a5e886266e7ae",
			Samples: spec.Len(), FromNm: from, ToNm: to, Quantity: "relative", Projection: kind.String()},
		Reading: []string{"Comma-separated values, wavelengths in the first column."},
	}
}

// uncertaintyOf assesses a specimen as a compact spectrometer would have seen it.
func uncertaintyOf(t *testing.T, s *spectrum.Spectrum, kind spectrum.Projection, given assay.Given) *assay.Uncertainty {
	t.Helper()
	conditions := uncertainty.Conditions{Defaults: uncertainty.Usual()}
	sitting, err := conditions.Sitting(s, kind, given)
	if err != nil {
		t.Fatal(err)
	}
	report, err := sitting.Assess(t.Context(), uncertainty.Options{Seed: 1, Draws: 200})
	if err != nil {
		t.Fatal(err)
	}
	u, _ := report.Summary()
	u.Basis = conditions.Basis(&given)
	return u
}

// clubLamps are the lamps of the model railway club, read from their files and
// analysed.
func clubLamps(t *testing.T) []Lamp {
	t.Helper()
	var all []Lamp
	for _, l := range tidewater.Lamps() {
		var text bytes.Buffer
		if err := l.Write(&text); err != nil {
			t.Fatal(err)
		}
		file, err := ingest.Read(l.FileName, &text, ingest.Options{})
		if err != nil {
			t.Fatal(err)
		}
		p, err := file.Spectrum.Project(file.Projection)
		if err != nil {
			t.Fatal(err)
		}
		makes, err := emission.Analyse(file.Spectrum, emission.Options{})
		if err != nil {
			t.Fatal(err)
		}
		result := new(assay.Result)
		assay.NewEvaluator().Evaluate(p, &assay.Given{}, result)
		all = append(all, Lamp{Name: l.Name, Result: result, Spectrum: file.Spectrum, Emission: makes})
	}
	return all
}

func lampsOf(t *testing.T) []Lamp {
	t.Helper()
	var all []Lamp
	for _, s := range specimens {
		all = append(all, lampOf(t, s))
	}
	return all
}

// sodium is the D lines at 2:1 and the infrared pair; the heights of the pair
// are invented.
var sodium = [][2]float64{{588.995, 2}, {589.592, 1}, {818.33, 0.1}, {819.48, 0.18}}

// spectrum makes the specimen's curve and says how it is read.
func (s specimen) spectrum(t *testing.T) (*spectrum.Spectrum, spectrum.Projection) {
	t.Helper()
	if s.illuminant != "" {
		il, err := standards.IlluminantByName(s.illuminant)
		if err != nil {
			t.Fatal(err)
		}
		return il.Spectrum, spectrum.Tabulated
	}
	axis, values := s.curve[0], s.curve[1]
	if s.lines != nil {
		axis, values = gaussians(s.lines)
	}
	curve, err := spectrum.New(spectrum.Relative, axis, values)
	if err != nil {
		t.Fatal(err)
	}
	return curve, spectrum.Sampled
}

// gaussians draws lines 0.5 nm wide at half height.
func gaussians(lines [][2]float64) (axis, values []float64) {
	const fwhm = 0.5
	for i := range 2501 {
		nm, v := 350+0.2*float64(i), 0.0
		for _, l := range lines {
			x := (nm - l[0]) / fwhm
			v += l[1] * math.Exp(-4*math.Ln2*x*x)
		}
		axis, values = append(axis, nm), append(values, v)
	}
	return axis, values
}

func sheetOf(t *testing.T, l Lamp, o Options) string {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, l, o); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func comparisonOf(t *testing.T, lamps []Lamp, o Options) string {
	t.Helper()
	var b bytes.Buffer
	if err := WriteComparison(&b, lamps, o); err != nil {
		t.Fatal(err)
	}
	return b.String()
}
