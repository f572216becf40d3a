package photometry

import (
	"fmt"
	"math"
	"testing"

	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

func TestMaximumEfficaciesFollowFromTheCandela(t *testing.T) {
	near(t, "683/V(555.016 nm)", 683/standards.V().At(555.016), Km, 0.001)
	near(t, "683/V′(555.016 nm)", 683/standards.VPrime().At(555.016), KmPrime, 0.01)
}

func TestEfficacyOfABlackbody(t *testing.T) {
	// Computed independently from Planck's law with 5 nm sums; the maximum of 95
	// lm/W near 6600 K is common knowledge. All radiation is σT⁴.
	sigma := standards.C1 * math.Pow(math.Pi, 4) / (15 * math.Pow(standards.C2, 4))
	for _, c := range [][2]float64{
		{2700, 12.36}, {2800, 14.91}, {2856, 16.45}, {3000, 20.67},
		{4000, 54.71}, {5800, 92.26}, {6504, 95.37}, {6620, 95.43},
	} {
		p := curve(t, 360, 830, 1, planck(c[0]))
		near(t, fmt.Sprintf("blackbody at %g K", c[0]), Luminous(p)/(sigma*math.Pow(c[0], 4)), c[1], 0.003*c[1])
	}
	for _, c := range []struct{ kelvin, from, to, want float64 }{
		{2800, 400, 700, 250.1}, {5800, 400, 700, 250.8},
		{2856, 380, 780, 156.2}, {5800, 380, 780, 197.9}, {6504, 380, 780, 195.6},
		{2800, 438, 677.5, 301.4}, {5800, 438, 677.5, 307.8},
		{2800, 456, 663, 343.9}, {5800, 456, 663, 350.4},
	} {
		p := curve(t, c.from, c.to, 0.5, planck(c.kelvin))
		near(t, fmt.Sprintf("blackbody at %g K cut to %g–%g nm", c.kelvin, c.from, c.to), LER(p), c.want, 0.005*c.want)
	}
}

func TestEfficacyOfTheIlluminants(t *testing.T) {
	// Computed independently, plain 5 nm sums over 380–780 nm.
	near(t, "A", LER(cut(t, "A", 380, 780)), 154.1, 0.002*154.1)
	for name, want := range map[string]float64{
		"C": 201.4, "D50": 206.2, "D65": 203.5,
		"FL1": 292.3, "FL2": 336.4, "FL3": 359.6, "FL4": 370.3, "FL5": 301.1, "FL6": 353.5,
		"FL7": 253.5, "FL8": 253.3, "FL9": 269.0, "FL10": 325.0, "FL11": 336.7, "FL12": 352.9,
	} {
		near(t, name, LER(cut(t, name, 380, 780)), want, 0.005*want)
	}
	// Equal energy, plain sum and trapezium sum.
	one := func(float64) float64 { return 1 }
	near(t, "E as a curve", LER(curve(t, 380, 780, 5, one)), 182.5, 0.002*182.5)
}

func TestEfficacyOfSodiumLines(t *testing.T) {
	// Km·V(λ) with V straight between 5 nm entries, computed independently.
	for _, c := range []struct{ nm, want float64 }{{589.0, 525.1}, {589.3, 522.7}, {589.6, 520.3}} {
		near(t, fmt.Sprintf("line at %g nm", c.nm), LER(line(t, c.nm, 0.3)), c.want, 1)
	}
	// However sharply it is drawn, a line's efficacy is that of its place.
	for _, fwhm := range []float64{0.02, 0.1, 1} {
		near(t, fmt.Sprintf("line %g nm wide", fwhm), LER(line(t, 589.3, fwhm)), Km*standards.V().At(589.3), 0.05)
	}
}

func TestScotopicToPhotopicRatio(t *testing.T) {
	// Common value for illuminant A, from memory.
	near(t, "A", SPRatio(illuminant(t, "A", spectrum.Tabulated)), 1.41, 0.005)
	// At the wavelength that defines the candela every ratio is 1.
	near(t, "555.016 nm", SPRatio(line(t, 555.016, 0.05)), 1, 1e-4)
}

func TestPhotonsPerLumenOfALine(t *testing.T) {
	// E = hc/λ: 555 nm carries 4.640 µmol/J (computed from the SI constants).
	near(t, "555 nm", PhotonsPerLumen(line(t, 555, 0.1)), 4.640/683.002, 1e-5)
}

func TestRatiosWithoutLightAreNotDefined(t *testing.T) {
	for name, level := range map[string]float64{"dark": 0, "negative": -1} {
		p := curve(t, 380, 780, 1, func(float64) float64 { return level })
		for what, v := range map[string]float64{
			"LER": LER(p), "S/P": SPRatio(p), "photons per lumen": PhotonsPerLumen(p), "ELR": ELR(Melanopic, p), "DER": DER(Melanopic, p),
		} {
			if !math.IsNaN(v) {
				t.Errorf("%s of %s light is %g", what, name, v)
			}
		}
	}
}

func planck(kelvin float64) func(nm float64) float64 {
	return func(nm float64) float64 { return standards.Planck(nm, kelvin) }
}

// line is a Gaussian line, sampled twelve times a width.
func line(t testing.TB, centre, fwhm float64) *spectrum.Projected {
	t.Helper()
	sigma := fwhm / 2.3548200450309493
	return curve(t, centre-4*fwhm, centre+4*fwhm, fwhm/12, func(nm float64) float64 {
		d := (nm - centre) / sigma
		return math.Exp(-d * d / 2)
	})
}
