package emission

import (
	"math"
	"math/rand/v2"

	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// bench is an invented set-up: an instrument and what it looks at.
type bench struct {
	from, to, pitch float64            // nm
	bandwidth       float64            // nm
	snr             float64            // largest sample over the noise of one
	shift, stretch  float64            // axis error: nm, and nm per 100 nm from 550 nm
	spread          float64            // standard deviation of the logarithm of line ratios
	amounts         map[string]float64 // by symbol, height of the strongest line in range
	continuum       func(nm float64) float64
}

// record simulates one spectrum. It returns with it, by symbol, how many strong
// lines (a tenth of the element's strongest in range) rise above 5 standard
// deviations of the noise.
func (b *bench) record(rng *rand.Rand) (*spectrum.Spectrum, map[string]int) {
	n := int((b.to-b.from)/b.pitch) + 1
	x, y := make([]float64, n), make([]float64, n)
	for i := range x {
		x[i] = b.from + float64(i)*b.pitch
		if b.continuum != nil {
			y[i] = b.continuum(x[i])
		}
	}
	type line struct{ nm, height float64 }
	strong := map[string][]line{}
	for _, symbol := range elementsTested {
		amount := b.amounts[symbol]
		if amount == 0 {
			continue
		}
		top := 0.0
		for _, l := range standards.Lines() {
			if l.Spectrum == symbol+" I" && l.Nm > b.from && l.Nm < b.to {
				top = max(top, l.Intensity)
			}
		}
		for _, l := range standards.Lines() {
			if l.Spectrum != symbol+" I" || l.Nm < b.from-10 || l.Nm > b.to+10 {
				continue
			}
			h := amount * l.Intensity / top * math.Exp(b.spread*rng.NormFloat64())
			at := l.Nm + b.shift + b.stretch*(l.Nm-550)/100
			for i := max(0, int((at-3*b.bandwidth-b.from)/b.pitch)); i < n && x[i] < at+3*b.bandwidth; i++ {
				y[i] += h * gauss((x[i]-at)/b.bandwidth)
			}
			if l.Intensity >= 0.1*top && l.Nm > b.from+b.bandwidth && l.Nm < b.to-b.bandwidth {
				strong[symbol] = append(strong[symbol], line{l.Nm, h})
			}
		}
	}
	top := 0.0
	for _, v := range y {
		top = max(top, v)
	}
	sigma := top / b.snr
	if top == 0 {
		sigma = 1
	}
	for i := range y {
		y[i] += sigma * rng.NormFloat64()
	}
	seen := map[string]int{}
	for symbol, lines := range strong {
		for _, l := range lines {
			if l.height > 5*sigma {
				seen[symbol]++
			}
		}
	}
	s, err := spectrum.New(spectrum.Relative, x, y)
	if err != nil {
		panic(err)
	}
	return s, seen
}

// The elements that the simulated lamps are made of.
var elementsTested = []string{"Na", "Hg", "Ne", "Ar", "Kr", "Xe", "He", "H", "Cd", "Zn", "K", "Tl", "In", "Li"}

// tally counts claims.
type tally struct{ right, wrong, missed int }

func (t tally) precision() float64 { return float64(t.right) / float64(max(1, t.right+t.wrong)) }
func (t tally) recall() float64    { return float64(t.right) / float64(max(1, t.right+t.missed)) }
