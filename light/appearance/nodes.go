package appearance

import (
	"math"
	"sync"

	"lampassay/light/colorimetry"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// A colour is split into its brightest channel, which chooses the face, how
// bright that is, and what the other two are beside it.
//
// side is the number of nodes along an edge of a face, where the others run from
// 0 to 1 of the brightest.
const side = 17

// levels are the brightnesses of the nodes. Below the first a surface is a
// darker one of the first.
var levels = [...]float64{0.02, 0.06, 0.13, 0.23, 0.36, 0.5, 0.65, 0.8, 0.92, 1}

// place is where node i lies along an edge, closer together near 0, where a
// little more of a channel changes a colour most.
func place(i int) float64 {
	t := float64(i) / (side - 1)
	return t * t
}

// cell returns the node before a value of 0 to 1 and how far on it lies.
func cell(v float64) (i int, f float64) {
	i = min(int(math.Sqrt(v)*(side-1)), side-2)
	return i, (v - place(i)) / (place(i+1) - place(i))
}

// level returns the level before a brightness and how far on it lies.
// v is not below the first.
func level(v float64) (i int, f float64) {
	for i < len(levels)-2 && v >= levels[i+1] {
		i++
	}
	return i, (v - levels[i]) / (levels[i+1] - levels[i])
}

// grid holds something for each node of the three faces at each level.
type grid[T any] [3][len(levels)][side * side]T

// face returns the other two channels of a face in their order.
func face(full int) (a, b int) { return (full + 1) % 3, (full + 2) % 3 }

// nodes are the reflectances, with the largest part of a channel by which any
// misses its colour under D65.
type nodes struct {
	grid[lattice]
	missed float64
}

// prepared returns the nodes, which depend on nothing.
var prepared = sync.OnceValue(func() *nodes {
	out := new(nodes)
	w := channels()
	var missed [3]float64
	var workers sync.WaitGroup
	for full := range out.grid {
		workers.Go(func() {
			for l := range levels {
				missed[full] = max(missed[full], solveLevel(w, full, l, &out.grid[full][l]))
			}
		})
	}
	workers.Wait()
	out.missed = largest(missed)
	return out
})

// solveLevel fills in the nodes of one face at one level, and returns by how
// much any misses its colour.
func solveLevel(w *[3]lattice, full, l int, nodes *[side * side]lattice) (missed float64) {
	a, b := face(full)
	for i := range side {
		for k := range side {
			var want [3]float64
			want[full], want[a], want[b] = levels[l], levels[l]*place(i), levels[l]*place(k)
			node := &nodes[i*side+k]
			if want == [3]float64{1, 1, 1} { // the limit that no coefficients reach
				for n := range node {
					node[n] = 1
				}
				continue
			}
			c, left := solve(w, want)
			c.reflectance(node, nil)
			missed = max(missed, left)
		}
	}
	return missed
}

// channels returns the weights that take a reflectance under D65 to linear
// sRGB, each such that a perfect white has 1.
func channels() *[3]lattice {
	il, err := standards.IlluminantByName("D65")
	if err != nil {
		panic("appearance: " + err.Error()) // the table is part of the program
	}
	p, err := il.Spectrum.Project(spectrum.Sampled)
	if err != nil {
		panic("appearance: " + err.Error())
	}
	xyz := weigh(p)
	var w [3]lattice
	var white [3]float64
	for i := range latticeLen {
		r, g, b := colorimetry.SRGBFromXYZ(colorimetry.XYZ{X: xyz[0][i], Y: xyz[1][i], Z: xyz[2][i]})
		w[0][i], w[1][i], w[2][i] = r, g, b
		white[0] += r
		white[1] += g
		white[2] += b
	}
	for k := range w {
		for i := range w[k] {
			w[k][i] /= white[k]
		}
	}
	return &w
}

// weigh returns the weights that take a reflectance under a light to X, Y, Z of
// the 2° observer, in the unit of the light's spectrum times nm.
func weigh(p *spectrum.Projected) (xyz [3]lattice) {
	o := standards.CIE1931()
	for k, bar := range []*spectrum.Weighting{o.X, o.Y, o.Z} {
		w := make([]float64, len(bar.W))
		for i := range w {
			w[i] = bar.W[i] * p.B[bar.First+i-spectrum.GridFirst]
		}
		xyz[k] = onLattice(bar.First, w)
	}
	return xyz
}
