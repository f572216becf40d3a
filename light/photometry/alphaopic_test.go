package photometry

import (
	"testing"

	"lampassay/light/spectrum"
)

func TestDaylightEfficaciesAreThoseOfTheStandard(t *testing.T) {
	// CIE S 026/E:2018, mW/lm; melanopic from clause 3.4, the others from memory.
	for a, want := range map[AlphaOpic]float64{SCone: 0.8173, MCone: 1.4558, LCone: 1.6289, Rhodopic: 1.4497, Melanopic: 1.3262} {
		near(t, a.String(), 1000*ELRDaylight(a), want, 0.00005)
	}
}

func TestMelanopicRatiosOfTheIlluminants(t *testing.T) {
	// Published values after CIE S 026, second-hand; the D65 table as summed at
	// 5 nm is 1.0001.
	for name, want := range map[string]float64{"A": 0.49581, "D65": 1, "FL12": 0.40420} {
		near(t, name, DER(Melanopic, illuminant(t, name, spectrum.Tabulated)), want, 0.001)
	}
	// Equal energy: 0.9058, which follows from the factor between two older
	// melanopic scales.
	near(t, "E", DER(Melanopic, curve(t, 380, 780, 1, func(float64) float64 { return 1 })), 0.9058, 0.002)
}

func TestEquivalentDaylightIlluminances(t *testing.T) {
	// FL12 at 100 lx and LED-B2 at 1000 lx, published after CIE S 026,
	// second-hand. Tolerance 0.2 % for the step of the tables.
	for _, c := range []struct {
		name string
		lux  float64
		want [alphaCount]float64
	}{
		{"FL12", 100, [...]float64{35.929, 79.904, 100.440, 50.848, 40.420}},
		{"LED-B2", 1000, [...]float64{362.3, 806.3, 1011.0, 539.6, 457.7}},
	} {
		p := illuminant(t, c.name, spectrum.Tabulated)
		p = scaled(p, c.lux/Luminous(p))
		for a, want := range c.want {
			near(t, c.name+" "+AlphaOpic(a).String()+" EDI", EDI(AlphaOpic(a), p), want, 0.002*want)
		}
	}
	// The α-opic irradiances of the second, mW/m².
	p := illuminant(t, "LED-B2", spectrum.Tabulated)
	p = scaled(p, 1000/Luminous(p))
	for a, want := range [...]float64{296.1, 1173.9, 1646.8, 782.2, 607.1} {
		near(t, AlphaOpic(a).String()+" irradiance", 1000*Effective(AlphaOpic(a), p), want, 0.002*want)
	}
}

func TestDaylightIsEquivalentToItself(t *testing.T) {
	d65 := illuminant(t, "D65", spectrum.Sampled)
	d65 = scaled(d65, 250/Luminous(d65))
	for a := range alphaCount {
		near(t, a.String()+" DER", DER(a, d65), 1, 1e-12)
		near(t, a.String()+" EDI", EDI(a, d65), 250, 1e-9)
	}
}

func TestIlluminanceTimesRatioIsEquivalentIlluminance(t *testing.T) {
	p := illuminant(t, "LED-V1", spectrum.Tabulated)
	for a := range alphaCount {
		near(t, a.String(), DER(a, p)*Luminous(p), EDI(a, p), 1e-9*EDI(a, p))
	}
}
