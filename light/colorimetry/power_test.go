package colorimetry

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

// offPower returns the relative error of y as the power num/den of x, from
// y^den = x^num in 200 bits: math.Pow is no judge here, being out by up to 2e-15.
func offPower(y, x float64, num, den int) float64 {
	raised := func(v float64, n int) *big.Float {
		product := new(big.Float).SetPrec(200).SetInt64(1)
		for range n {
			product.Mul(product, big.NewFloat(v))
		}
		return product
	}
	ratio := raised(y, den)
	ratio.Sub(ratio.Quo(ratio, raised(x, num)), big.NewFloat(1))
	off, _ := ratio.Float64()
	return math.Abs(off) / float64(den)
}

var powers = []struct{ num, den int }{{21, 50}, {9, 10}, {1, 2}, {1, 4}}

func TestAPreparedPowerIsExactToAFewUnitsOfTheLastPlace(t *testing.T) {
	for _, p := range powers {
		w := newPower(float64(p.num) / float64(p.den))
		rapid.Check(t, func(r *rapid.T) {
			x := math.Exp2(rapid.Float64Range(-32, 31.999).Draw(r, "log2 x"))
			if off := offPower(w.of(x), x, p.num, p.den); !(off < 1e-15) {
				r.Errorf("%g to the power %d/%d: off by %.2g", x, p.num, p.den, off)
			}
		})
	}
}

// The error is largest where one step or octave passes into the next.
func TestAPreparedPowerHasNoSeams(t *testing.T) {
	for _, p := range powers {
		w := newPower(float64(p.num) / float64(p.den))
		for _, octave := range []int{-31, -1, 0, 31} {
			for j := range steps {
				at := math.Ldexp(1+float64(j)/steps, octave)
				for _, x := range []float64{math.Nextafter(at, 0), at} {
					if off := offPower(w.of(x), x, p.num, p.den); !(off < 1e-15) {
						t.Errorf("%g to the power %d/%d: off by %.2g", x, p.num, p.den, off)
					}
				}
			}
		}
	}
}

func TestBeyondItsTablesAPreparedPowerIsTheLibrarys(t *testing.T) {
	w := newPower(0.42)
	for _, x := range []float64{
		0, math.Copysign(0, -1), 5e-324, 1e-310, 0x1p-1022, 0x1p-33, 0x1p32, 1e300, math.MaxFloat64,
		-1, -5e-324, math.Inf(1), math.Inf(-1), math.NaN(),
	} {
		if got, want := w.of(x), math.Pow(x, 0.42); math.Float64bits(got) != math.Float64bits(want) {
			t.Errorf("of %g: %g, want %g", x, got, want)
		}
	}
}

func BenchmarkPower(b *testing.B) {
	w, x := newPower(0.42), 0.1
	b.Run("prepared", func(b *testing.B) {
		for i := 0; b.Loop(); i++ {
			sink += w.of(x + float64(i&63))
		}
	})
	b.Run("library", func(b *testing.B) {
		for i := 0; b.Loop(); i++ {
			sink += math.Pow(x+float64(i&63), 0.42)
		}
	})
	b.Run("exponential of logarithm", func(b *testing.B) {
		for i := 0; b.Loop(); i++ {
			sink += math.Exp(0.42 * math.Log(x+float64(i&63)))
		}
	})
}
