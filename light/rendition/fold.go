package rendition

import (
	"math"
	"sync"

	"lampassay/light/colorimetry"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// The nodes of the test samples, which both methods publish from 380 nm to
// 780 nm at 5 nm.
const (
	nodeFirst = 380
	nodeStep  = 5
	nodeCount = 81
)

// reflectance is one test sample's spectral radiance factor at the nodes.
type reflectance [nodeCount]float64

// folded is a light times an observer's three functions, gathered at the nodes:
// the tristimulus values of a sample are its dot products with a reflectance.
type folded [3][nodeCount]float64

// of returns the tristimulus values of a sample under the light. One pass serves
// all three channels, each in two running sums.
func (f *folded) of(r *reflectance) colorimetry.XYZ {
	x, y, z := &f[0], &f[1], &f[2]
	const last = nodeCount - 1 // an even number of entries precede it
	x0, y0, z0 := r[last]*x[last], r[last]*y[last], r[last]*z[last]
	var x1, y1, z1 float64
	for k := 0; k < last; k += 2 {
		a, b := r[k], r[k+1]
		x0 += a * x[k]
		y0 += a * y[k]
		z0 += a * z[k]
		x1 += b * x[k+1]
		y1 += b * y[k+1]
		z1 += b * z[k+1]
	}
	return colorimetry.XYZ{X: x0 + x1, Y: y0 + y1, Z: z0 + z1}
}

// show fills out with the tristimulus values of samples and, last, of the
// perfect diffuser, three numbers each.
func (f *folded) show(samples []reflectance, out []float64) {
	for j := range samples {
		put(out, j, f.of(&samples[j]))
	}
	put(out, len(samples), f.white())
}

func put(out []float64, j int, c colorimetry.XYZ) {
	v := out[3*j:][:3]
	v[0], v[1], v[2] = c.X, c.Y, c.Z
}

// shown returns the j-th of the colours that show has put down.
func shown(colours []float64, j int) colorimetry.XYZ {
	v := colours[3*j:][:3]
	return colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]}
}

// white returns the tristimulus values of the perfect diffuser, over the same
// 380–780 nm as those of the samples.
func (f *folded) white() colorimetry.XYZ { return f.of(&perfectDiffuser) }

var perfectDiffuser = func() (r reflectance) {
	for k := range r {
		r[k] = 1
	}
	return r
}()

// normalise scales the light to Y = 100 for the perfect diffuser. Where Y is not
// positive all becomes NaN, and all that follows.
func (f *folded) normalise() {
	k := 100 / f.white().Y
	if !(k > 0) {
		k = math.NaN()
	}
	for c := range f {
		for i := range f[c] {
			f[c][i] *= k
		}
	}
}

// mix makes f the sum (1−t)·f + t·g.
func (f *folded) mix(g *folded, t float64) {
	for c := range f {
		for k := range f[c] {
			f[c][k] = (1-t)*f[c][k] + t*g[c][k]
		}
	}
}

// folder holds an observer's functions cut up by the hats of the nodes. Node k
// gathers the whole nanometres from 4 below to 4 above it; what lies outside
// 380–780 nm counts nothing.
type folder [3][nodeCount][2*nodeStep - 1]float64

// foldFirst is the wavelength in nm of the first entry that fold reads, and
// foldLen how many it reads.
const (
	foldFirst = nodeFirst - nodeStep + 1
	foldLen   = nodeStep*nodeCount + nodeStep - 1
)

func newFolder(o *standards.Observer) *folder {
	f := new(folder)
	for c, w := range []*spectrum.Weighting{o.X, o.Y, o.Z} {
		for k := range nodeCount {
			node := nodeFirst + k*nodeStep
			for j := range 2*nodeStep - 1 {
				off := j - nodeStep + 1
				nm := node + off
				if nm < nodeFirst || nm > nodeFirst+(nodeCount-1)*nodeStep {
					continue
				}
				f[c][k][j] = w.At(float64(nm)) * float64(nodeStep-max(off, -off)) / nodeStep
			}
		}
	}
	return f
}

// fold gathers a projection, b[0] belonging to foldFirst nm, at the nodes.
func (f *folder) fold(b []float64, out *folded) {
	b = b[:foldLen]
	for c := range f {
		for k := range f[c] {
			h := &f[c][k]
			s := b[nodeStep*k:][:len(h)]
			out[c][k] = ((h[0]*s[0] + h[1]*s[1]) + (h[2]*s[2] + h[3]*s[3])) + h[4]*s[4] +
				((h[5]*s[5] + h[6]*s[6]) + (h[7]*s[7] + h[8]*s[8]))
		}
	}
}

// tables are what every evaluator shares.
type tables struct {
	cie1931, cie1964 *folder
	tcs              []reflectance // 14, CIE 13.3
	ces              []reflectance // 99, CIE 224
	viewing          colorimetry.CAM02
	radiators        *radiators
	charts           map[sums]charts
}

var shared = sync.OnceValue(func() *tables {
	const la, yb = 100, 20 // cd/m² and %, CIE 224:2017
	t := &tables{
		cie1931:   newFolder(standards.CIE1931()),
		cie1964:   newFolder(standards.CIE1964()),
		tcs:       reflectances(standards.TCS()),
		ces:       reflectances(standards.CES()),
		viewing:   colorimetry.NewCAM02(colorimetry.XYZ{X: 100, Y: 100, Z: 100}, la, yb, colorimetry.Average),
		radiators: newRadiators(),
	}
	t.charts = newCharts(t)
	return t
})

func reflectances(s *standards.Samples) []reflectance {
	all := make([]reflectance, len(s.R))
	for j := range all {
		copy(all[j][:], s.R[j])
	}
	return all
}
