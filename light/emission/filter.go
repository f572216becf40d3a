package emission

import (
	"math"
	"sync"
)

// kernel is the line filter for one width: the coefficients that give the
// least-squares height of a line of that width, in samples, on a parabola.
// Constant, slope and curvature of what lies under a line therefore do not
// count, and neither do bands, which are parabolas on this scale.
type kernel struct {
	c    []float64 // 2·half + 1 coefficients, symmetrical
	half int
	norm float64 // standard deviation of the height for unit noise
}

func newKernel(width float64) kernel {
	half := max(3, int(math.Ceil(1.7*width)))
	n := 2*half + 1
	g := make([]float64, n)
	var sum0, sum2, sum4, g0, g2 float64
	for i := range g {
		x := float64(i - half)
		if i > half {
			g[i] = g[n-1-i]
		} else {
			g[i] = gauss(x / width)
		}
		sum0++
		sum2 += x * x
		sum4 += x * x * x * x
		g0 += g[i]
		g2 += g[i] * x * x
	}
	// The odd terms vanish by symmetry; of the even ones the constant and the
	// parabola freed of its mean are orthogonal.
	mean2 := sum2 / sum0
	parabola := (g2 - mean2*g0) / (sum4 - mean2*sum2)
	var energy float64
	for i := range g {
		x := float64(i - half)
		g[i] -= g0/sum0 + parabola*(x*x-mean2)
		energy += g[i] * g[i]
	}
	for i := range g {
		g[i] /= energy
	}
	return kernel{g, half, 1 / math.Sqrt(energy)}
}

// gaussTable holds the line shape at steps of 1/512 up to 2.5, where it is below
// 10⁻⁷; a straight line between them is right to 3·10⁻⁶.
type gaussTable [2.5*512 + 2]float64

var gaussians = sync.OnceValue(func() *gaussTable {
	t := new(gaussTable)
	for i := range t {
		t[i] = gauss(float64(i) / 512)
	}
	return t
})

// at returns the line shape at u, 0 beyond ±2.5.
func (t *gaussTable) at(u float64) float64 {
	u = math.Abs(u) * 512
	i := uint(int(u))
	if i >= uint(len(t)-1) {
		return 0
	}
	return t[i] + (t[i+1]-t[i])*(u-float64(int(i)))
}

// gauss is the line shape: 1 at 0, one half at ±½.
func gauss(u float64) float64 { return math.Exp(-4 * math.Ln2 * u * u) }

// response applies the filter to sample i; near an end the missing samples
// repeat the last one.
func (k *kernel) response(y []float64, i int) float64 {
	if i >= k.half && i+k.half < len(y) { // both sides alike
		sum := k.c[k.half] * y[i]
		left, right := y[i-k.half:i], y[i+1:i+k.half+1]
		last := len(right) - 1
		for j, c := range k.c[:len(left)] {
			sum += c * (left[j] + right[last-j])
		}
		return sum
	}
	sum := 0.0
	for j, c := range k.c {
		sum += c * y[min(max(i-k.half+j, 0), len(y)-1)]
	}
	return sum
}

// samples returns the bandwidth in samples at sample i: at least one, at most a
// hundred, beyond which nothing is gained.
func (t *trace) samples(i int) float64 { return min(max(1, t.bandwidth/t.pitch[i]), 100) }

// filter runs the line filter along the trace, its width in samples following
// the local pitch to 4 %.
func (t *trace) filter() (height, sigma []float64) {
	n := len(t.y)
	both := t.floats.take(2 * n)
	height, sigma = both[:n], both[n:]
	var k kernel
	made := 0.0
	for i := range t.y {
		if width := t.samples(i); math.Abs(width-made) > 0.04*made {
			made = width
			k = newKernel(width)
		}
		height[i] = k.response(t.y, i)
		sigma[i] = k.norm * t.sigma[i]
	}
	return height, sigma
}

// leaks is the answer of the line filter to a line of unit height, by distance
// in steps of a sixteenth of the bandwidth, for kernels of whole-sample widths.
const leakSteps, leakReach, leakWidths = 16, 48, 24

var leaks = sync.OnceValue(func() *[leakWidths + 1][leakReach + 2]float64 {
	table := new([leakWidths + 1][leakReach + 2]float64)
	for w := 1; w <= leakWidths; w++ {
		k := newKernel(float64(w))
		for d := range table[w] {
			for j, c := range k.c {
				table[w][d] += c * gauss((float64(j-k.half)-float64(d*w)/leakSteps)/float64(w))
			}
		}
	}
	return table
})

// leak returns the answer of the filter at a distance in bandwidths.
func (t *trace) leak(distance float64) float64 {
	d := math.Abs(distance) * leakSteps
	i := int(d)
	if i >= leakReach {
		return 0
	}
	return t.leaking[i]*(1-(d-float64(i))) + t.leaking[i+1]*(d-float64(i))
}
