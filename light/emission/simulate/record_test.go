package simulate

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

var instrument = Instrument{From: 380, To: 800, Pitch: 0.2, Bandwidth: 1, SNR: 1e9, Shift: 0.5}

func record(t *testing.T, lamp *Lamp, in Instrument, seed uint64) *Reading {
	t.Helper()
	r, err := Record(lamp, &in, rand.New(rand.NewPCG(seed, 0)))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Thallium's green line, 535.046 nm in standard air (NIST ASD), stands alone.
func TestALineIsWhereTheAxisPutsItAndAsWideAsTheInstrument(t *testing.T) {
	r := record(t, &Lamp{Amounts: map[string]float64{"Tl": 2}}, instrument, 1)
	x, y := r.Spectrum.Axis(), r.Spectrum.Values()
	var sum, sum1, sum2, top float64
	for i := range x {
		if math.Abs(x[i]-535.5) < 4 {
			sum += y[i]
			sum1 += y[i] * x[i]
			sum2 += y[i] * x[i] * x[i]
			top = max(top, y[i])
		}
	}
	mean := sum1 / sum
	width := math.Sqrt(8*math.Ln2) * math.Sqrt(sum2/sum-mean*mean)
	if math.Abs(mean-535.546) > 0.005 || math.Abs(width-1) > 0.01 || math.Abs(top-2) > 0.03 {
		t.Errorf("centre %.3f nm, width %.3f nm, height %.3f; want 535.546, 1 and 2", mean, width, top)
	}
}

func TestTheNoiseIsAsStated(t *testing.T) {
	in := instrument
	in.SNR = 50
	r := record(t, &Lamp{Amounts: map[string]float64{"Tl": 1}}, in, 2)
	x, y := r.Spectrum.Axis(), r.Spectrum.Values()
	sum, n := 0.0, 0
	for i := range x {
		if x[i] > 560 && x[i] < 640 {
			sum += y[i] * y[i]
			n++
		}
	}
	// 400 samples: the estimate scatters by 3.5 %, of which four are allowed.
	if sd := math.Sqrt(sum / float64(n)); math.Abs(sd*50-1) > 0.14 {
		t.Errorf("noise %.4f, want 0.02", sd)
	}
}

func TestTheSameSeedGivesTheSameSpectrum(t *testing.T) {
	lamp := &Lamp{Amounts: map[string]float64{"Ne": 1, "Na": 0.5, "Hg": 0.3}, Spread: 0.5}
	a, b, c := record(t, lamp, instrument, 3), record(t, lamp, instrument, 3), record(t, lamp, instrument, 4)
	if !slices.Equal(a.Spectrum.Values(), b.Spectrum.Values()) {
		t.Error("two spectra of one seed differ")
	}
	if slices.Equal(a.Spectrum.Values(), c.Spectrum.Values()) {
		t.Error("spectra of two seeds are the same")
	}
}

// Sodium's D pair is its only strong one of 380–800 nm by the tabulated
// intensities; helium's 587.56 nm and neon's 588.19 nm lie within 1.5 nm of it.
func TestLinesUnderStrongerOnesAreNotClear(t *testing.T) {
	in := instrument
	in.SNR = 1000
	alone := record(t, &Lamp{Amounts: map[string]float64{"Na": 0.2}}, in, 5)
	if alone.Above["Na"] != 2 || alone.Clear["Na"] != 2 {
		t.Errorf("sodium alone: %d above, %d clear, want 2 and 2", alone.Above["Na"], alone.Clear["Na"])
	}
	in.Bandwidth = 1.8
	beside := record(t, &Lamp{Amounts: map[string]float64{"Na": 0.2, "He": 1}}, in, 5)
	if beside.Above["Na"] != 2 || beside.Clear["Na"] != 1 {
		t.Errorf("sodium under helium: %d above, %d clear, want 2 and 1", beside.Above["Na"], beside.Clear["Na"])
	}
}

func TestAnInstrumentWithoutAnAxisIsRefused(t *testing.T) {
	for _, in := range []Instrument{{}, {From: 400, To: 300, Pitch: 1, Bandwidth: 1, SNR: 1}, {From: 400, To: 500, Pitch: 1, Bandwidth: math.NaN(), SNR: 1}} {
		if _, err := Record(&Lamp{}, &in, rand.New(rand.NewPCG(1, 1))); err == nil {
			t.Errorf("%+v was accepted", in)
		}
	}
}

func TestTalliesCount(t *testing.T) {
	x := Tally{Right: 18, Wrong: 2, Missed: 6}
	x.Add(Tally{Missed: 3})
	if x.Precision() != 0.9 || math.Abs(x.Recall()-18.0/27) > 1e-15 {
		t.Errorf("precision %g, recall %g", x.Precision(), x.Recall())
	}
	if !math.IsNaN(Tally{}.Precision()) || !math.IsNaN(Tally{}.Recall()) {
		t.Error("a count of nothing has a precision or a recall")
	}
}

// A smeared line keeps its energy, and its wings fall by e in their length.
func TestWingsKeepTheEnergyAndFallAsStated(t *testing.T) {
	x, y := make([]float64, 4001), make([]float64, 4001)
	for i := range x {
		x[i] = 400 + 0.05*float64(i)
	}
	y[2000] = 1
	smear(x, y, 0.2, 3)
	sum := 0.0
	for _, v := range y {
		sum += v
	}
	if math.Abs(sum-1) > 1e-9 {
		t.Errorf("the line has %.6f of its energy left", sum)
	}
	if ratio := y[2000+120] / y[2000+60]; math.Abs(ratio-math.Exp(-1)) > 1e-9 {
		t.Errorf("the wing falls to %.4f in its length, want 1/e", ratio)
	}
	if math.Abs(y[2000-60]-y[2000+60]) > 1e-12 {
		t.Error("the wings are not alike")
	}
}

func TestFaultsDoWhatTheySay(t *testing.T) {
	x := []float64{300, 400, 500, 600, 700, 800}
	for name, c := range map[string]struct {
		faults Faults
		want   [6]float64 // of 1, 1, 0, 0, 0, 0
	}{
		"second order": {Faults{SecondOrder: 0.01}, [6]float64{1, 1, 0, 0, 0.01, 0.01}},
		"stray light":  {Faults{Stray: 0.1}, [6]float64{1.1, 1.1, 0.1, 0.1, 0.1, 0.1}},
		"photons":      {Faults{Photons: true}, [6]float64{300.0 / 550, 400.0 / 550}},
		"tilt":         {Faults{Tilt: 0.2}, [6]float64{math.Exp(-0.25), math.Exp(-0.15)}},
		"ripple":       {Faults{Ripple: 0.1, Period: 1600}, [6]float64{1 + 0.1*math.Sin(3*math.Pi/8), 1.1}},
	} {
		y := []float64{1, 1, 0, 0, 0, 0}
		c.faults.spoil(x, y, 1)
		for i, want := range c.want {
			if math.Abs(y[i]-want) > 1e-12 {
				t.Errorf("%s: %g at %g nm, want %g", name, y[i], x[i], want)
			}
		}
	}
}
