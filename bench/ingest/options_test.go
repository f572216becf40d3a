package ingest

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"lampassay/light/spectrum"
)

func TestOptionsOverrideWhatIsDetected(t *testing.T) {
	irradiance, relative, flux := spectrum.Irradiance, spectrum.Relative, spectrum.Flux
	sampled, tabulated := spectrum.Sampled, spectrum.Tabulated
	for _, c := range []struct {
		name, text string
		o          Options
		axis       []float64
		values     []float64
		quantity   spectrum.Quantity
		kind       spectrum.Projection
		warning    string
	}{
		{"a column", "nm;dark;lamp\n400;1;2\n401;3;4\n", Options{Column: 3}, []float64{400, 401}, []float64{2, 4}, relative, tabulated, ""},
		{"the first of several columns", "nm,dark,lamp\n400,1,2\n401,3,4.5\n", Options{}, []float64{400, 401}, []float64{1, 3}, relative, tabulated, "column 2 is read and 1 other beside it not: another can be chosen"},
		{"values before the wavelengths", "lamp,wavelength\n1,400\n3,401\n", Options{}, []float64{400, 401}, []float64{1, 3}, relative, tabulated, ""},
		{"a quantity for a bare table", "400,1\n401,3\n", Options{Quantity: &irradiance}, []float64{400, 401}, []float64{1, 3}, irradiance, tabulated, ""},
		{"a quantity the file scales", "nm,mW/m²/nm\n400,1\n401,3\n", Options{Quantity: &irradiance}, []float64{400, 401}, []float64{per(1, 1e3), per(3, 1e3)}, irradiance, tabulated, ""},
		{"a unit without per nm", "nm,mW/m²\n400,1\n401,3\n", Options{}, []float64{400, 401}, []float64{1, 3}, relative, tabulated, "the unit “mW/m²” says nothing of “per nm”, so the values are read as relative: if they are per nm, say that they are irradiance"},
		{"a unit without per nm, affirmed", "nm,mW/m²\n400,1\n401,3\n", Options{Quantity: &irradiance}, []float64{400, 401}, []float64{per(1, 1e3), per(3, 1e3)}, irradiance, tabulated, ""},
		{"a quantity against the file", "nm,mW/m²/nm\n400,1\n401,3\n", Options{Quantity: &flux}, []float64{400, 401}, []float64{1, 3}, flux, tabulated, "the file gives “mW/m²/nm”, and the values are read as flux in W/nm as asked"},
		{"an absolute curve as relative", "nm,mW/m²/nm\n400,1\n401,3\n", Options{Quantity: &relative}, []float64{400, 401}, []float64{1, 3}, relative, tabulated, ""},
		{"a projection", "400,1\n401,3\n", Options{Projection: &sampled}, []float64{400, 401}, []float64{1, 3}, relative, sampled, ""},
		{"photons", "400,1\n401,3\n", Options{Photon: true}, []float64{400, 401}, []float64{1 / spectrum.MicromolPerJoule(400), 3 / spectrum.MicromolPerJoule(401)}, relative, tabulated, ""},
		{"ångström", "4000,1\n4010,3\n", Options{WavelengthUnit: Angstrom}, []float64{400, 401}, []float64{1, 3}, relative, tabulated, ""},
		{"micrometres", "0.5,1\n0.75,3\n", Options{WavelengthUnit: Micrometre}, []float64{500, 750}, []float64{1, 3}, relative, sampled, ""},
		{"wavenumbers", "20000,1\n25000,3\n", Options{WavelengthUnit: Wavenumber}, []float64{airFromWavenumber(25000), airFromWavenumber(20000)}, []float64{3, 1}, relative, sampled, "the values are taken as they are, per nanometre: if they are per cm⁻¹, choose that unit of wavelengths"},
		{"nanometres that look like something else", "Wavelength (Å),v\n400,1\n401,3\n", Options{WavelengthUnit: Nanometre}, []float64{400, 401}, []float64{1, 3}, relative, tabulated, ""},
		{"a separator", "400;5 1\n401;5 3\n", Options{Separator: ';'}, []float64{400, 401}, nil, relative, tabulated, ""},
		{"a decimal mark", "400;1,500\n401;2,500\n", Options{Decimal: '.'}, []float64{400, 401}, []float64{1500, 2500}, relative, tabulated, "2 numbers with thousands marks, such as 1 234.5"},
		{"commas for everything", "400,0,5\n401,0,6\n402,1,0\n", Options{Column: 3}, []float64{400, 401, 402}, []float64{5, 6, 0}, relative, tabulated, "the table has commas and no decimal point: if the commas are decimal marks too, save it with another separator"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := Read("x", strings.NewReader(c.text), c.o)
			if c.values == nil {
				if want := "x: found no rows of numbers; a spectrum is rows of a wavelength and a value"; err == nil || err.Error() != want {
					t.Errorf("got %v\nwant %s", err, want)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Equal(f.Spectrum.Axis(), c.axis) || !slices.Equal(f.Spectrum.Values(), c.values) {
				t.Errorf("%v %v; want %v %v", f.Spectrum.Axis(), f.Spectrum.Values(), c.axis, c.values)
			}
			if f.Spectrum.Quantity() != c.quantity || f.Projection != c.kind {
				t.Errorf("%v, %v; want %v, %v", f.Spectrum.Quantity(), f.Projection, c.quantity, c.kind)
			}
			if got := strings.Join(f.Report.Warnings, "\n"); got != c.warning {
				t.Errorf("warnings %q; want %q", got, c.warning)
			}
		})
	}
}

// Power is conserved where the axis changes: ∫ S(σ) dσ = ∫ S(λ) dλ. A flat
// density per cm⁻¹ of 1 from 20 000 to 25 000 cm⁻¹ holds 5000. The refractive
// index, 1.0003, is the difference that is allowed.
func TestADensityPerWavenumberKeepsItsPower(t *testing.T) {
	var b strings.Builder
	for s := 25000; s >= 20000; s -= 5 {
		b.WriteString(strconv.Itoa(s) + " 1\n")
	}
	f, err := Read("x", strings.NewReader(b.String()), Options{WavelengthUnit: WavenumberDensity})
	if err != nil {
		t.Fatal(err)
	}
	p, err := f.Spectrum.Project(f.Projection)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(p.Total/5000-1) > 3.5e-4 {
		t.Errorf("%g; want 5000", p.Total)
	}
}

func TestOptionNamesAreTheirOwnInverse(t *testing.T) {
	for u := AutoUnit; u <= WavenumberDensity; u++ {
		if got, err := ParseWavelengthUnit(u.String()); err != nil || got != u {
			t.Errorf("%v: %v, %v", u, got, err)
		}
	}
	for r, name := range separatorNames {
		if got, err := ParseSeparator(name); err != nil || got != r {
			t.Errorf("%s: %q, %v", name, got, err)
		}
	}
	for r, name := range decimalNames {
		if got, err := ParseDecimal(name); err != nil || got != r {
			t.Errorf("%s: %q, %v", name, got, err)
		}
	}
	if p, err := ParseProjection("tabulated"); err != nil || *p != spectrum.Tabulated {
		t.Error(p, err)
	}
	if p, err := ParseProjection("auto"); err != nil || p != nil {
		t.Error(p, err)
	}
	for _, err := range []error{errOf(ParseWavelengthUnit("feet")), errOf(ParseSeparator("x")), errOf(ParseDecimal("x")), errOf(ParseProjection("x"))} {
		if err == nil {
			t.Error("a wrong name is taken")
		}
	}
}

func errOf[T any](_ T, err error) error { return err }
