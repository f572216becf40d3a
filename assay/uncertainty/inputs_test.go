package uncertainty

import (
	"math"
	"slices"
	"testing"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/light/photometry"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// A reading that errs by a known amount, given that amount as the drawn value,
// becomes the truth again: each input means what it says, sign and unit.
func TestAnInputAtItsTrueErrorRestoresTheTruth(t *testing.T) {
	const slit = 2.0
	axis := array()
	clean := triBand.seen(axis, slit)
	mean, largest := sum(clean)/float64(len(clean)), slices.Max(clean)
	truth := evaluated(projectedOf(t, axis, clean))
	changed := func(f func(nm, v float64) float64) []float64 {
		v := make([]float64, len(axis))
		for i := range v {
			v[i] = f(axis[i], clean[i])
		}
		return v
	}
	step := func(nm float64) float64 { return min(max((nm-400)/300, 0), 1) }
	for _, c := range []struct {
		name    string
		in      Spectrometer
		error   []float64
		reading []float64
	}{
		{"offset", Spectrometer{Offset: Normal(0, 1)}, []float64{0.7}, changed(func(nm, _ float64) float64 { return triBand.at(nm+0.7, slit) })},
		{"stretch", Spectrometer{Stretch: Normal(0, 1)}, []float64{0.7}, changed(func(nm, _ float64) float64 { return triBand.at(nm+0.007*(nm-550), slit) })},
		{"bandwidth", Spectrometer{Bandwidth: Normal(slit, 1)}, []float64{2.6}, triBand.seen(axis, 2.6)},
		// Shares count of the reading, which the level has raised.
		{"stray", Spectrometer{Stray: Normal(0, 1)}, []float64{0.02 / 1.02}, changed(func(_, v float64) float64 { return v + 0.02*mean })},
		{"dark", Spectrometer{Dark: Normal(0, 1)}, []float64{0.01 / 1.01}, changed(func(_, v float64) float64 { return v + 0.01*largest })},
		{"reference", Spectrometer{Reference: Normal(2856, 1)}, []float64{2956}, changed(func(nm, v float64) float64 {
			return v * standards.Planck(nm, 2856) / standards.Planck(nm, 2956)
		})},
		{"response", Spectrometer{Response: Response{Nm: []float64{400, 700}, U: []float64{0.1, 0.2}, Correlation: 1}}, []float64{0, 1}, changed(func(nm, v float64) float64 {
			return v / (1 + 0.2*step(nm))
		})},
	} {
		s := &Sitting{Spectrum: newSpectrum(t, spectrum.Relative, axis, c.reading), Spectrometer: c.in,
			Quantities: []quantity.ID{quantity.CCT, quantity.Duv, quantity.Ra, quantity.R(9), quantity.Rf, quantity.LER, quantity.CentroidWavelength, quantity.FWHM}}
		m, err := s.Model()
		if err != nil {
			t.Fatal(err)
		}
		before, after := make([]float64, m.Outputs), make([]float64, m.Outputs)
		p, err := m.prepare()
		if err != nil {
			t.Fatal(err)
		}
		x := make([]float64, p.size)
		p.estimates(x)
		f := m.New()
		f(x, before)
		f(c.error, after)
		moved := false
		for i, id := range s.Quantities {
			want, _ := truth.Value(id)
			change := math.Abs(before[i] - want)
			moved = moved || change > lastDigit(id)
			tolerance := max(0.02*change, 0.1*lastDigit(id))
			if c.name == "bandwidth" { // second order: see TestBandwidthWidensLikeAWiderSlit
				tolerance = max(0.1*change, 0.2*lastDigit(id))
			}
			near(t, c.name+": "+quantity.Get(id).Key, after[i], want, tolerance)
		}
		if !moved {
			t.Errorf("%s: the error changes nothing, so that nothing is restored", c.name)
		}
	}
}

func TestAScaleReachesAnAbsoluteSpectrum(t *testing.T) {
	for _, c := range []struct {
		q    spectrum.Quantity
		id   quantity.ID
		want float64
	}{
		{spectrum.Flux, quantity.LuminousFlux, math.Hypot(0.05, 0.02)},
		{spectrum.Irradiance, quantity.Illuminance, math.Hypot(0.05, 0.02)},
	} {
		s := &Sitting{
			Spectrum:     newSpectrum(t, c.q, array(), whiteLED.seen(array(), 2)),
			Spectrometer: Spectrometer{Scale: Normal(0, 0.05)},
			Factors: []Factor{
				{Input: Input{Name: "refit", Distribution: Normal(0, 0.02)}, Light: 1},
				{Input: Input{Name: "light meter", Distribution: Normal(0, 0.5)}, Flux: 1}, // of a flux that was not given
			},
			Quantities: []quantity.ID{c.id},
		}
		f := figure(t, assess(t, s, Options{Draws: 100}), c.id)
		near(t, quantity.Get(c.id).Key, f.Law.U/f.Value(), c.want, 1e-6)
	}
}

// The slope of V(λ) at a single line, from the published table.
func TestAnOffsetCostsASodiumLampTheSlopeOfV(t *testing.T) {
	s := sittingOf(t, lowSox)
	s.Spectrometer, s.Factors = Spectrometer{Offset: Normal(0, 0.5)}, nil
	r := assess(t, s, Options{Seed: 1, Draws: 2000})
	ler := figure(t, r, quantity.LER)
	slope := (standards.V().At(590) - standards.V().At(588)) / 2 / standards.V().At(589)
	near(t, "u(LER) over its value", ler.Law.U/ler.Value(), -slope*0.5, 0.0003)
	near(t, "u of the peak", figure(t, r, quantity.PeakWavelength).Law.U, 0.5, 1e-9)
	near(t, "u of the width", figure(t, r, quantity.FWHM).Law.U, 0, 1e-9)
}

// For noise alone the law has a closed form: LER is Km Σ aS/Σ tS, with a and t
// the weights of a sample in either sum.
func TestNoiseReachesLERAsItsWeightsSay(t *testing.T) {
	s := sittingOf(t, whiteLED)
	s.Spectrometer, s.Factors = Spectrometer{Noise: Noise{Floor: 0.01, Peak: 0.02}}, nil
	s.Quantities = []quantity.ID{quantity.LER}
	f := figure(t, assess(t, s, Options{Seed: 3, Draws: 4000}), quantity.LER)

	u, err := s.Spectrometer.Noise.deviations(s.Spectrum.Values())
	if err != nil {
		t.Fatal(err)
	}
	pr, err := spectrum.NewProjector(s.Spectrum.Axis(), spectrum.Sampled)
	if err != nil {
		t.Fatal(err)
	}
	total := projectedOf(t, s.Spectrum.Axis(), s.Spectrum.Values()).Total
	unit, p, variance := make([]float64, s.Spectrum.Len()), new(spectrum.Projected), 0.0
	for i := range unit {
		unit[i] = 1
		pr.Project(p, unit)
		unit[i] = 0
		slope := (photometry.Luminous(p) - f.Value()*p.Total) / total
		variance += slope * slope * u[i] * u[i]
	}
	want := math.Sqrt(variance)
	near(t, "u by draws", f.StdDev, want, 0.04*want)  // 3.5 standard deviations of 4000 draws
	near(t, "u by the law", f.Law.U, want, 0.25*want) // of 100 trials
	near(t, "largest deviation", slices.Max(u)/0.02, slices.Max(s.Spectrum.Values()), 1e-12)
	near(t, "smallest deviation", slices.Min(u)/0.01, slices.Max(s.Spectrum.Values()), 1e-6) // where next to no light is
}

func TestAReferenceLampHotterThanAssumedTiltsTheResponse(t *testing.T) {
	// By Planck's formula 100 K at 2856 K make 7.7 % at 450 nm and −4.1 % at
	// 650 nm against 560 nm, here with the code's own knots.
	k := newKnots(&Response{Nm: []float64{450, 560, 650}, U: []float64{0, 0, 0}, Correlation: 1}, array())
	got := make([]float64, 3)
	k.factors(got, nil)
	k.tilt(got, 2956, 2856)
	for i, want := range []float64{1.077, 1, 0.959} {
		near(t, "factor", got[i], want, 0.0005)
	}
}

func TestResponseErrorsHaveTheStatedSpreadAndCorrelation(t *testing.T) {
	r := Response{Nm: []float64{400, 450, 600, 620}, U: []float64{0.1, 0.05, 0.02, 0.04}, Correlation: 100}
	k := newKnots(&r, array())
	w := (&prepared{Model: &Model{New: func() Function { return nil }}}).worker()
	const n = 40_000
	var cov [4][4]float64
	e, z := make([]float64, 4), make([]float64, 4)
	for range n {
		for i := range z {
			z[i] = w.rng.NormFloat64()
		}
		k.factors(e, z)
		for i := range cov {
			for j := range cov {
				cov[i][j] += (e[i] - 1) * (e[j] - 1) / n
			}
		}
	}
	for i := range cov {
		for j := range cov {
			want := math.Exp(-math.Abs(r.Nm[i]-r.Nm[j]) / 100)
			near(t, "correlation", cov[i][j]/(r.U[i]*r.U[j]), want, 0.025) // five standard deviations
		}
	}
}

// A filament at one per cent more voltage is 0.42 % hotter, and all of it shows
// in the colour temperature and in nothing that a constant current holds still.
func TestTheSupplySetsTheColourOfAFilament(t *testing.T) {
	axis := array()
	values := make([]float64, len(axis))
	for i, nm := range axis {
		values[i] = standards.Planck(nm, 2800)
	}
	s := &Sitting{
		Spectrum: newSpectrum(t, spectrum.Relative, axis, values), Given: assay.Given{Flux: assay.Measured(710)},
		Factors:    SetUp(Filament, 0.01, 0)[:1],
		Quantities: []quantity.ID{quantity.CCT, quantity.LuminousFlux},
	}
	r := assess(t, s, Options{Draws: 100})
	near(t, "u of the CCT", figure(t, r, quantity.CCT).Law.U, 0.0042*2800, 0.02)
	near(t, "u of the flux", figure(t, r, quantity.LuminousFlux).Law.U, 0.034*710, 0.01)
	s.Factors = SetUp(White, 0.01, 0)[:1]
	if u := figure(t, assess(t, s, Options{Draws: 100}), quantity.CCT).Law.U; u != 0 {
		t.Errorf("the supply changes the colour of an LED by %g K", u)
	}
}
