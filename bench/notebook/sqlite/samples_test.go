package sqlite

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"lampassay/bench/notebook"
)

// sameBits compares samples to the last bit.
func sameBits(a, b []float64) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if math.Float64bits(a[i]) != math.Float64bits(b[i]) {
			return false
		}
	}
	return true
}

func TestSamplesComeBackToTheLastBit(t *testing.T) {
	for name, v := range map[string][]float64{
		"one":                     {1},
		"counts":                  {0, 65535, 12, 4000},
		"negative counts":         {-3, 0, -1 << 52},
		"the largest whole":       {1<<53 - 1, -(1<<53 - 1)},
		"beyond the largest":      {1 << 53, 1<<53 + 2},
		"three decimals":          {0.125, 35.501, -0.007},
		"nine decimals":           {1e-9, 123.456789012},
		"ten decimals":            {1e-10, 0.1234567891},
		"minus nought":            {math.Copysign(0, -1), 0},
		"missing":                 {1, math.NaN(), 2},
		"the least and the most":  {5e-324, math.MaxFloat64, -math.MaxFloat64},
		"calibrated":              {1.7345e-7 / 3, 2.2e-7 / 7},
		"whole, but for the last": {1, 2, 3, 0.1 + 0.2},
	} {
		got, err := unpack(pack(v), len(v))
		if err != nil || !sameBits(got, v) {
			t.Errorf("%s: %v came back as %v (%v)", name, v, got, err)
		}
	}
}

func TestAnySamplesComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		digits := rapid.IntRange(0, 12).Draw(t, "digits")
		printed := rapid.Map(rapid.Int64Range(-1e12, 1e12), func(n int64) float64 { return float64(n) / math.Pow10(digits) })
		bits := rapid.Map(rapid.Uint64(), math.Float64frombits)
		v := rapid.OneOf(rapid.SliceOfN(printed, 1, 50), rapid.SliceOfN(bits, 1, 50)).Draw(t, "samples")
		got, err := unpack(pack(v), len(v))
		if err != nil || !sameBits(got, v) {
			t.Fatalf("%v came back as %v (%v)", v, got, err)
		}
	})
}

func TestPackedSamplesAreSmall(t *testing.T) {
	g := newSpectra(2048)
	// What the noise of counted photons leaves: about log2(σ·√(2πe)) bits a
	// sample, σ being 17 to 220 counts here.
	for _, c := range []struct {
		name string
		step float64
		most int
	}{{"counts", 1, 2700}, {"means of ten", .1, 7000}, {"calibrated", 0, 14500}} {
		if n := len(pack(g.at(1000, c.step).Curve.Samples)); n > c.most {
			t.Errorf("2048 samples of %s are packed into %d bytes, want at most %d", c.name, n, c.most)
		}
	}
	printed := make([]float64, 2048)
	for i := range printed {
		printed[i] = math.Round(1e4*math.Exp(-math.Pow(float64(i-1000)/200, 2))) / 1e4
	}
	if n := len(pack(printed)); n > 2100 {
		t.Errorf("a smooth curve of four decimals is packed into %d bytes, want at most one a sample", n)
	}
}

// FuzzUnpack gives the reader of packed samples whatever a broken disk could.
func FuzzUnpack(f *testing.F) {
	f.Add(pack([]float64{1, 2, 3}), 3)
	f.Add(pack([]float64{0.1, math.NaN()}), 2)
	f.Add([]byte{binaryForm}, 1)
	f.Fuzz(func(t *testing.T, b []byte, n int) {
		if n < 0 || n > 4096 {
			return
		}
		v, err := unpack(b, n)
		if err == nil && len(v) != n {
			t.Errorf("%d samples where %d were asked for", len(v), n)
		}
	})
}

func FuzzPack(f *testing.F) {
	f.Add(notebook.Bytes(nil, []float64{1, 2.5, -3}))
	f.Fuzz(func(t *testing.T, b []byte) {
		v := notebook.Floats(b)
		if len(v) == 0 {
			return
		}
		if got, err := unpack(pack(v), len(v)); err != nil || !sameBits(got, v) {
			t.Errorf("%v came back as %v (%v)", v, got, err)
		}
	})
}
