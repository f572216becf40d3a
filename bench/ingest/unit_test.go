package ingest

import (
	"math"
	"testing"

	"lampassay/light/spectrum"
)

func TestUnitsAreUnderstoodInEverySpelling(t *testing.T) {
	for _, c := range []struct {
		text     string
		quantity spectrum.Quantity
		ten      int
		photons  bool
		perNm    bool
	}{
		{"W/nm", spectrum.Flux, 0, false, true}, {"mW/nm", spectrum.Flux, -3, false, true}, {"µW nm⁻¹", spectrum.Flux, -6, false, true}, {"W", spectrum.Flux, 0, false, false},
		{"W/m²/nm", spectrum.Irradiance, 0, false, true}, {"mW/m2/nm", spectrum.Irradiance, -3, false, true}, {"µW/cm²/nm", spectrum.Irradiance, -2, false, true},
		{"uW/(cm^2*nm)", spectrum.Irradiance, -2, false, true}, {"W·m⁻²·nm⁻¹", spectrum.Irradiance, 0, false, true}, {"W m-2 nm-1", spectrum.Irradiance, 0, false, true}, {"W.m-2.nm-1", spectrum.Irradiance, 0, false, true},
		{"W/m^2 nm", spectrum.Irradiance, 0, false, true}, {"nW/mm²/nm", spectrum.Irradiance, -3, false, true}, {"W/(m²·µm)", spectrum.Irradiance, -3, false, true}, {"W/m²/Å", spectrum.Irradiance, 1, false, true}, {"mW/m²", spectrum.Irradiance, -3, false, false},
		{"W/(m²·sr·nm)", spectrum.Radiance, 0, false, true}, {"W/sr/m²/nm", spectrum.Radiance, 0, false, true}, {"mW/sr/nm", spectrum.Intensity, -3, false, true},
		{"µmol/s/nm", spectrum.Flux, 0, true, true}, {"µmol m⁻² s⁻¹ nm⁻¹", spectrum.Irradiance, 0, true, true}, {"mol/m2/s/nm", spectrum.Irradiance, 6, true, true},
		{"counts", spectrum.Counts, 0, false, true}, {"a.u.", spectrum.Relative, 0, false, true}, {"Arb. Units", spectrum.Relative, 0, false, true},
	} {
		u, ok := parseUnit(c.text)
		if !ok || u.quantity != c.quantity || u.ten != c.ten || u.photons != c.photons || u.perNm != c.perNm {
			t.Errorf("%s: %+v, %v; want %+v", c.text, u, ok, c)
		}
	}
	for _, text := range []string{"", "nm", "lm/nm", "lx", "W/m3", "W/nm2", "W²/nm", "mol/nm", "W/s/nm", "m/W", "apples", "W/m²/nm!", "5", "Wnm"} {
		if u, ok := parseUnit(text); ok {
			t.Errorf("%q is taken for a unit: %+v", text, u)
		}
	}
}

func TestUnitsAreFoundInHeadings(t *testing.T) {
	for _, text := range []string{"Irradiance [mW/m²/nm]", "Irradiance (mW/m²/nm)", "E / (mW/(m²·nm))", "spectral irradiance in mW/m2/nm", "E_mW/m2/nm", "mW/m²/nm"} {
		if u, ok := unitIn(text); !ok || u.quantity != spectrum.Irradiance || u.ten != -3 {
			t.Errorf("%s: %+v, %v", text, u, ok)
		}
	}
	for text, want := range map[string]WavelengthUnit{
		"Wavelength (nm)": Nanometre, "λ/nm": Nanometre, "wavelength [Å]": Angstrom, "Wavelength_um": Micrometre, "ν̃ (cm⁻¹)": Wavenumber, "Wavenumber": Wavenumber, "Wavelength": AutoUnit, "x": AutoUnit,
	} {
		if got := wavelengthUnitIn(text); got != want {
			t.Errorf("%s: %v; want %v", text, got, want)
		}
	}
}

// Vacuum wavenumbers of the sodium D₁ and D₂ lines and their wavelengths in air,
// NIST Atomic Spectra Database (from memory). The tolerance is the rounding of
// the wavelengths and what Ciddor's air differs from the database's.
func TestWavenumbersBecomeWavelengthsInAir(t *testing.T) {
	for _, c := range [][2]float64{{16956.170, 589.5924}, {16973.366, 588.9951}} {
		if got := airFromWavenumber(c[0]); math.Abs(got-c[1]) > 0.0002 {
			t.Errorf("%g cm⁻¹: %.4f nm; want %g", c[0], got, c[1])
		}
	}
}
