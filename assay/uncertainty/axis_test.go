package uncertainty

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/light/spectrum"
)

func projectedOf(t testing.TB, axis, values []float64) *spectrum.Projected {
	t.Helper()
	p, err := newSpectrum(t, spectrum.Relative, axis, values).Project(spectrum.Sampled)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func evaluated(p *spectrum.Projected) *assay.Result {
	r := new(assay.Result)
	assay.NewEvaluator().Evaluate(p, &assay.Given{}, r)
	return r
}

// lastDigit is one unit in the last decimal that the register shows.
func lastDigit(id quantity.ID) float64 {
	d := quantity.Get(id)
	unit := math.Pow(10, -float64(d.Decimals))
	if d.Percent {
		unit /= 100
	}
	return unit
}

// broad has power at the edges of every band that its range reaches.
var broad = lamp{{400, 70, 20}, {560, 120, 40}, {700, 90, 30}, {780, 60, 10}}

var inventedLamps = map[string]lamp{"broad": broad, "white LED": whiteLED, "tri-band": triBand, "high-pressure sodium": sodium, "low-pressure sodium": lowSox}

// TestMovedProjectionAgreesWithANewOne compares the short way with projecting
// the samples anew on the moved axis, which is exact. The error may be one per
// cent of what the move changes, or else a tenth of the last digit shown.
func TestMovedProjectionAgreesWithANewOne(t *testing.T) {
	ids := []quantity.ID{quantity.CCT, quantity.Duv, quantity.Ra, quantity.R(9), quantity.Rf, quantity.Rg, quantity.LER, quantity.MelDER, quantity.SPRatio,
		quantity.ShareUV, quantity.ShareUVA, quantity.ShareVisible, quantity.ShareIR, quantity.PhotonEfficacy,
		quantity.CentroidWavelength, quantity.PeakWavelength, quantity.FWHM, quantity.DominantWavelength}
	for name, l := range inventedLamps {
		axis := array()
		values := l.seen(axis, 2)
		p := projectedOf(t, axis, values)
		before := evaluated(p)
		bent := newBend() // a cubic, as a fitted axis errs: 0.7 nm at 350 nm and −0.1 nm at 800 nm
		bent.set((&AxisErrors{Nm: sweep(300, 1000, 5), Curves: [][]float64{cubic(sweep(300, 1000, 5))}}).onGrid(), []float64{1})
		for _, a := range []axisError{
			{offset: 0.3}, {offset: -0.45}, {offset: 1.5}, {stretch: 0.002}, {offset: 0.2, stretch: -0.01}, {bend: bent}, {offset: -0.2, stretch: 0.001, bend: bent},
		} {
			moved := make([]float64, len(axis))
			for i, nm := range axis {
				moved[i] = a.at(nm)
			}
			exact := evaluated(projectedOf(t, moved, values))
			q := new(spectrum.Projected)
			a.apply(q, p)
			got := evaluated(q)
			for _, id := range ids {
				g, _ := got.Value(id)
				e, defined := exact.Value(id)
				b, _ := before.Value(id)
				if !defined {
					t.Fatalf("%s: no %s", name, quantity.Get(id).Key)
				}
				if math.Abs(g-e) > max(0.01*math.Abs(e-b), 0.1*lastDigit(id)) {
					t.Errorf("%s %+v: %s is %.6g, want %.6g", name, a, quantity.Get(id).Key, g, e)
				}
			}
		}
	}
}

func sweep(from, to, step float64) (x []float64) {
	for v := from; v <= to; v += step {
		x = append(x, v)
	}
	return x
}

func cubic(nm []float64) (e []float64) {
	for _, l := range nm {
		x := (l - 575) / 225
		e = append(e, 0.1-0.1*x+0.2*x*x-0.3*x*x*x)
	}
	return e
}

// A wider slit, for which the lamps have a formula. To second order the line's
// shape does not matter, only its variance; what is left is a tenth of the change.
func TestBandwidthWidensLikeAWiderSlit(t *testing.T) {
	ids := []quantity.ID{quantity.CCT, quantity.Duv, quantity.Ra, quantity.R(9), quantity.Rf, quantity.LER, quantity.FWHM}
	for name, l := range inventedLamps {
		for _, width := range []float64{1.6, 2.4, 5} {
			axis := array()
			p := projectedOf(t, axis, l.seen(axis, 2))
			before, exact := evaluated(p), evaluated(projectedOf(t, axis, l.seen(axis, width)))
			q := new(spectrum.Projected)
			axisError{variance: (width*width - 4) / (8 * math.Ln2)}.apply(q, p)
			got := evaluated(q)
			for _, id := range ids {
				g, _ := got.Value(id)
				e, _ := exact.Value(id)
				b, _ := before.Value(id)
				if math.Abs(g-e) > max(0.1*math.Abs(e-b), 0.2*lastDigit(id)) {
					t.Errorf("%s at %g nm: %s is %.6g, want %.6g, from %.6g", name, width, quantity.Get(id).Key, g, e, b)
				}
			}
		}
	}
}

func TestAMoveKeepsAmountAndMoments(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := axisError{
			offset:   rapid.Float64Range(-6, 6).Draw(t, "offset"),
			variance: rapid.Float64Range(-2, 12).Draw(t, "variance"),
		}
		src, dst := new(spectrum.Projected), new(spectrum.Projected)
		src.From, src.To, src.Step = 400, 700, 1
		for range 5 {
			src.B[rapid.IntRange(200, 500).Draw(t, "node")] += rapid.Float64Range(-1, 3).Draw(t, "power")
		}
		a.apply(dst, src)
		// Moments about a point among the nodes, so that rounding stays small.
		moments := func(p *spectrum.Projected) (m [3]float64) {
			for i, b := range p.B {
				x := float64(i - 350)
				m[0] += b
				m[1] += b * x
				m[2] += b * x * x
			}
			return m
		}
		s, d := moments(src), moments(dst)
		want := [3]float64{s[0], s[1] + a.offset*s[0], s[2] + 2*a.offset*s[1] + (a.offset*a.offset+a.variance)*s[0]}
		for k := range want {
			if math.Abs(d[k]-want[k]) > 1e-7 {
				t.Errorf("moment %d is %.12g, want %.12g", k, d[k], want[k])
			}
		}
	})
}

func TestAMoveOverTheEndOfTheGridLosesWhatLeavesIt(t *testing.T) {
	src, dst := new(spectrum.Projected), new(spectrum.Projected)
	src.From, src.To, src.Step = 200, 1400, 1
	src.B[0], src.B[spectrum.GridLen-1] = 1, 1
	axisError{offset: -3, variance: 1}.apply(dst, src)
	sum := 0.0
	for _, b := range dst.B {
		sum += b
	}
	near(t, "what is left", sum, 1, 1e-12)
}
